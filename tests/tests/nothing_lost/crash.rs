//! `kill -9` at any moment, under eight writers.

use std::time::{Duration, Instant};

use crate::ledger::{Compared, assert_nothing_lost};
use crate::writer::{self, Writer};
use crate::*;

const WRITERS: usize = 8;

/// Lets the writers write for so long, and kills the server.
async fn write_and_kill(
    server: &mut Server,
    writers: Vec<Writer>,
    milliseconds: u64,
) -> Vec<Writer> {
    let tasks: Vec<_> = writers
        .into_iter()
        .map(|writer| tokio::spawn(writer.write_until_gone()))
        .collect();
    tokio::time::sleep(Duration::from_millis(milliseconds)).await;
    server.kill();
    let mut ended = Vec::new();
    for task in tasks {
        ended.push(task.await.expect("a writer ends"));
    }
    ended
}

/// Starts the server again, at a later time, and gives how long it took until it was ready.
async fn restart(server: &mut Server, round: usize) -> Duration {
    let clock = format!(
        "2026-11-09T{:02}:{:02}:00+01:00",
        8 + round / 60,
        round % 60
    );
    let began = Instant::now();
    server.restart_at(&clock).await;
    server.anonymous().get("/health/ready").await.expect(200);
    began.elapsed()
}

on_both_databases! {
    async fn kills_under_eight_writers_lose_nothing_and_double_nothing(database: Database) {
        let mut server = Server::setup(database).busy().start().await;
        let mut random = ChaCha20Rng::seed_from_u64(3);
        let (mut total, mut starts) = (Compared::default(), Vec::new());
        let kills = many(25, 200);
        for round in 1..=kills {
            let (club, athletes) = club_of(&server, WRITERS).await;
            let writers = writer::writers(&club, &athletes, round as u64).await;
            let mut writers = write_and_kill(&mut server, writers, random.random_range(5..=500)).await;
            starts.push(restart(&mut server, round).await);
            for writer in &mut writers {
                writer.replay().await;
            }
            let compared = assert_nothing_lost(&club, &writers).await;
            total.writes += compared.writes;
            total.reports += compared.reports;
        }
        starts.sort();
        println!(
            "{database:?}: {kills} kills, {} writes answered, {} reports, 0 lost, 0 doubled; ready after {:?} (median), {:?} (longest)",
            total.writes, total.reports, starts[kills / 2], starts[kills - 1],
        );
    }
}
