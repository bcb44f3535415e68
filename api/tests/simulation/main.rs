//! The closing job and the delivery worker under any interleaving: the real ones, over a real database, SQLite and
//! PostgreSQL, while a seed says what happens in which order.
//!
//! Two machines run the service on one database. Time passes; jobs look, twice at once too; clubs' apps report, amend and send
//! again; each job is held before each of its calls to the store and while it sends, others go on meanwhile, and there it may
//! crash, be refused, or lose the answer to a commit. Messages are taken, refused, left without an answer or answered late. Clocks
//! are set forward and back by seconds to years. Then the faults end, everything runs until nothing is due, and `check` judges:
//!
//! - one close a club and week, in order, none passed over, none before its time; one notice a close and a correction, of its moment;
//! - at most one look-ahead a club and week, between its time and the end of the week, with one notice;
//! - who gets mail has one letter a close, a look-ahead and an endpoint that was disabled, and every correction is told in one;
//! - every delivery has arrived, or is dead for a reason that is shown; each message of a notice has the same id and the same bytes;
//!   nothing leaves before it is due, after it was delivered, or while another has it;
//! - what was answered with success is there, once a key; the flags of closed weeks are what their inputs say; the audit chain holds.
//!
//! That it finds something was tried by hand, one fault at a time put into the service; each failed within the first eight seeds:
//! the notice of a close written in a transaction of its own; a close that goes on where the week was closed before; no notice of
//! a correction; a lease that keeps nobody out; an end written down by one whose lease was lost; attempts that are not counted;
//! the first wait of the timetable for every attempt; kept answers that are not found. One was there: a job whose clock was set
//! back between its look and the close closed a week hours before its time.
//!
//! A seed that fails is printed with the end of what happened; `PLIMSOLL_TEST_SEED` plays it alone, step by step the same.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "test code"
)]

mod base;
mod check;
mod client;
mod play;
mod receivers;
mod task;
mod trace;
mod world;

use base::{Base, On};
use std::ops::Range;

use jiff::SignedDuration;
use play::{Played, play};

/// Seeds of a batch; all batches together play ten times as many.
const BATCH: u64 = 100;
/// The same with `tests/run --long`.
const LONG_BATCH: u64 = 1_000;
/// Time that passes in a seed, on the average of a batch, without what clocks are set by: 1,000 seeds are 100 years and 10,000 seeds 1,000.
const DAYS_A_SEED: i32 = 37;

/// One runtime a seed: what a simulation leaves behind ends with it.
fn run<T>(work: impl Future<Output = T>) -> T {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(work)
}

/// The databases to begin with.
fn bases(on: On) -> Vec<Base> {
    (0..Base::COUNT)
        .map(|number| run(Base::make(number, on)))
        .collect()
}

fn play_one(bases: &[Base], seed: u64) -> Played {
    let base = usize::try_from(seed).unwrap() % bases.len();
    run(play(&bases[base], seed))
}

/// So many seeds in an ordinary run, so many with `tests/run --long`.
fn many(ordinary: u64, long: u64) -> u64 {
    match std::env::var_os("PLIMSOLL_TEST_LONG") {
        None => ordinary,
        Some(_) => long,
    }
}

fn play_batch(on: On, seeds: Range<u64>) {
    let bases = bases(on);
    let mut simulated = SignedDuration::ZERO;
    let mut sums = [0_usize; 16];
    for seed in seeds.clone() {
        let played = play_one(&bases, seed);
        simulated += played.simulated;
        let (found, done) = (played.found, played.done);
        let figures = [
            found.closed,
            found.late,
            found.notices,
            found.corrections,
            found.letters,
            found.ahead,
            found.disabled,
            played.messages,
            played.repeated,
            found.writes,
            done.reads,
            done.steps,
            done.crashes,
            done.refused,
            done.lost,
            done.clock_steps,
        ];
        for (sum, figure) in sums.iter_mut().zip(figures) {
            *sum += figure;
        }
    }
    let [
        closed,
        late,
        notices,
        corrections,
        letters,
        ahead,
        disabled,
        messages,
        repeated,
        writes,
        reads,
        steps,
        crashes,
        refused,
        lost,
        clocks,
    ] = sums;
    let years = simulated.as_secs_f64() / (365.2425 * 86_400.0);
    println!(
        "{on:?}, seeds {} to {}: {years:.1} years, steps of clocks apart; {closed} weeks closed ({late} late), {notices} notices ({corrections} of \
         corrections, {ahead} of look-aheads, {disabled} of endpoints disabled), {letters} letters, {messages} messages ({repeated} arrived again), {writes} writes and {reads} reads answered; {steps} steps, {crashes} crashes, \
         {refused} calls refused, {lost} answers lost, {clocks} clocks set; 0 lost, 0 doubled",
        seeds.start,
        seeds.end - 1,
    );
    let tried = [
        closed,
        late,
        corrections,
        letters,
        ahead,
        disabled,
        repeated,
        writes,
    ];
    assert!(
        tried.iter().all(|number| *number > 0),
        "nothing was tried: {tried:?}"
    );
    let seeds = i32::try_from(seeds.end - seeds.start).unwrap();
    assert!(
        simulated >= SignedDuration::from_hours(24) * DAYS_A_SEED * seeds,
        "too little time for {seeds} seeds: {years:.1} years"
    );
}

macro_rules! batches {
    ($($name:ident = $number:literal),+ $(,)?) => {$(
        #[test]
        fn $name() {
            let size = many(BATCH, LONG_BATCH);
            play_batch(On::Sqlite, $number * size..($number + 1) * size);
        }
    )+};
}

batches! {
    batch_0 = 0, batch_1 = 1, batch_2 = 2, batch_3 = 3, batch_4 = 4,
    batch_5 = 5, batch_6 = 6, batch_7 = 7, batch_8 = 8, batch_9 = 9,
}

/// Fewer, since each has a database of its own on a server.
#[test]
fn batch_on_postgres() {
    play_batch(On::Postgres, 0..many(30, 1_000));
}

/// One step after another is the same, on either database too: the digest is of all that happens.
#[test]
fn one_seed_plays_the_same_again_on_postgres_too() {
    let named = std::env::var("PLIMSOLL_TEST_SEED").ok();
    let seeds: Vec<u64> = match named {
        Some(seed) => vec![seed.parse().unwrap()],
        None => vec![7, 1_000_003, 2_718_281, 9_228],
    };
    let (sqlite, postgres) = (bases(On::Sqlite), bases(On::Postgres));
    let mut digests = Vec::new();
    for seed in seeds {
        let first = play_one(&sqlite, seed);
        for bases in [&sqlite, &postgres] {
            let again = play_one(bases, seed);
            assert_eq!(first.digest, again.digest, "seed {seed}");
        }
        digests.push(first.digest);
    }
    digests.dedup();
    assert!(digests.len() > 1 || std::env::var_os("PLIMSOLL_TEST_SEED").is_some());
}
