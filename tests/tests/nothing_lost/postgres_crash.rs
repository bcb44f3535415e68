//! PostgreSQL is killed under load, or ends because the disk of its log is full, and is started again; the service goes on
//! by itself.

use std::time::{Duration, Instant};

use crate::disk_full::disk;
use crate::ledger::assert_nothing_lost;
use crate::load::Load;
use crate::*;

#[tokio::test]
async fn a_killed_postgres_loses_nothing_and_the_service_goes_on() {
    let postgres = Postgres::start();
    let server = Server::setup_at(&postgres.url()).busy().start().await;
    let (club, athletes) = club_of(&server, 8).await;
    let load = Load::start(&club, &athletes, 16).await;
    let mut outages = Vec::new();
    for _ in 0..many(3, 20) {
        load.more_successes(40).await;
        postgres.kill();
        // Long enough for every writer to be refused.
        tokio::time::sleep(Duration::from_millis(500)).await;
        server.anonymous().get("/health/live").await.expect(200);
        postgres.restart();
        let started = Instant::now();
        load.more_successes(8).await;
        outages.push(started.elapsed());
    }
    let (refused, longest) = (load.refusals(), load.longest_wait_ms());
    assert!(refused > 0, "the outage was not noticed");
    let writers = load.end().await;
    server.anonymous().get("/health/ready").await.expect(200);
    let compared = assert_nothing_lost(&club, &writers).await;
    println!(
        "{} kills of PostgreSQL, {} writes answered, {refused} refused, 0 lost, 0 doubled; the longest wait for an answer \
         {longest} ms; 8 writes more {:?} after its start",
        outages.len(),
        compared.writes,
        outages.iter().max().expect("an outage"),
    );
}

/// PostgreSQL ends with a PANIC where its log cannot be written, and stays down until somebody makes room and starts it.
#[tokio::test]
async fn a_full_log_disk_loses_nothing_and_the_service_goes_on() {
    let Some(disk) = disk(40) else { return };
    let log = disk.path().join("log");
    let postgres = Postgres::start_with_log_in(&log, disk.under_as_user());
    let server = Server::setup_at(&postgres.url()).busy().start().await;
    let (club, athletes) = club_of(&server, 8).await;
    let load = Load::start(&club, &athletes, 17).await;
    load.more_successes(40).await;
    disk.fill();
    postgres.fill_log();

    let app = club.as_role("integration");
    let mut longest_read = Duration::ZERO;
    for _ in 0..20 {
        let sent = Instant::now();
        let refused = app.get("sessions").await.expect(503);
        longest_read = longest_read.max(sent.elapsed());
        assert!(
            refused.header("retry-after").is_some(),
            "{}",
            refused.text()
        );
    }
    server.anonymous().get("/health/live").await.expect(200);
    server.anonymous().get("/health/ready").await.expect(503);

    disk.make_room();
    postgres.restart();
    let started = Instant::now();
    load.more_successes(8).await;
    let until_written = started.elapsed();
    let (refused, longest) = (load.refusals(), load.longest_wait_ms());
    let writers = load.end().await;
    server.anonymous().get("/health/ready").await.expect(200);
    let compared = assert_nothing_lost(&club, &writers).await;
    println!(
        "log disk of PostgreSQL full: {} writes answered, {refused} refused, 0 lost, 0 doubled; the longest wait for an answer \
         {longest} ms, of 20 refused reads {longest_read:?}; 8 writes more {until_written:?} after its start",
        compared.writes,
    );
}
