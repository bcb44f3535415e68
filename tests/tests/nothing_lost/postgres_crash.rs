//! PostgreSQL is killed under load and started again; the service goes on by itself.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use crate::ledger::assert_nothing_lost;
use crate::writer::{self, Try, Writer};
use crate::*;

/// What the writers have been told so far.
#[derive(Default)]
struct Told {
    successes: AtomicUsize,
    refusals: AtomicUsize,
    longest_wait_ms: AtomicU64,
    enough: AtomicBool,
}

/// Writes until it is enough. Every request must be answered, whatever the answer is.
async fn write(mut writer: Writer, told: Arc<Told>) -> Writer {
    while !told.enough.load(Ordering::Relaxed) {
        let sent = Instant::now();
        let answered = writer.go_on().await;
        let waited = u64::try_from(sent.elapsed().as_millis()).expect("a short wait");
        told.longest_wait_ms.fetch_max(waited, Ordering::Relaxed);
        match answered {
            Try::Answered => told.successes.fetch_add(1, Ordering::Relaxed),
            Try::Refused => {
                moment().await;
                told.refusals.fetch_add(1, Ordering::Relaxed)
            }
            Try::NoAnswer => panic!("a request was not answered while PostgreSQL was away"),
        };
    }
    writer
}

/// Waits for so many more successes.
async fn more_successes(told: &Told, number: usize) {
    let goal = told.successes.load(Ordering::Relaxed) + number;
    while told.successes.load(Ordering::Relaxed) < goal {
        moment().await;
    }
}

#[tokio::test]
async fn a_killed_postgres_loses_nothing_and_the_service_goes_on() {
    let postgres = Postgres::start();
    let server = Server::setup_at(postgres.url()).start().await;
    let (club, athletes) = club_of(&server, 8).await;
    let told = Arc::new(Told::default());
    let writers = writer::writers(&club, &athletes, 16).await;
    let tasks: Vec<_> = writers
        .into_iter()
        .map(|writer| tokio::spawn(write(writer, Arc::clone(&told))))
        .collect();
    let mut outages = Vec::new();
    for _ in 0..many(3, 20) {
        more_successes(&told, 40).await;
        postgres.kill();
        // Long enough for every writer to be refused.
        tokio::time::sleep(Duration::from_millis(500)).await;
        server.anonymous().get("/health/live").await.expect(200);
        postgres.restart();
        let started = Instant::now();
        more_successes(&told, 8).await;
        outages.push(started.elapsed());
    }
    told.enough.store(true, Ordering::Relaxed);
    let mut writers = Vec::new();
    for task in tasks {
        writers.push(task.await.expect("a writer ends"));
    }
    for writer in &mut writers {
        writer.replay().await;
    }
    server.anonymous().get("/health/ready").await.expect(200);
    let compared = assert_nothing_lost(&club, &writers).await;
    assert!(
        told.refusals.load(Ordering::Relaxed) > 0,
        "the outage was not noticed"
    );
    println!(
        "{} kills of PostgreSQL, {} writes answered, {} refused, 0 lost, 0 doubled; the longest wait for an answer {} ms; \
         8 writes more {:?} after its start",
        outages.len(),
        compared.writes,
        told.refusals.load(Ordering::Relaxed),
        told.longest_wait_ms.load(Ordering::Relaxed),
        outages.iter().max().expect("an outage"),
    );
}
