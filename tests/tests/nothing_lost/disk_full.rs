//! The database's disk runs full: writes are refused by name, what needs no audit row is read, and all goes on once there is
//! space.

use std::time::Instant;

use crate::ledger::assert_nothing_lost;
use crate::writer;
use crate::*;

/// A disk of so many megabytes, or nothing after the reason has been said, where something may be left out.
pub(crate) fn disk(megabytes: u32) -> Option<SmallDisk> {
    let disk = SmallDisk::of_megabytes(megabytes);
    disk.inspect_err(|why| {
        left_out(&format!(
            "this system mounts no small disk for a test: {why}"
        ));
    })
    .ok()
}

/// An athlete whose reports fill the disk.
pub(crate) struct Filler {
    athlete: Athlete,
    calls: usize,
    stored: usize,
}

impl Filler {
    pub(crate) fn of(athlete: &Athlete) -> Self {
        Self {
            athlete: athlete.clone(),
            calls: 0,
            stored: 0,
        }
    }

    fn app(&self) -> Client {
        self.athlete.club().as_role("integration")
    }

    /// The bulk call of this number, with so many rows.
    fn call(&self, number: usize, rows: usize) -> Request {
        let row = |row: usize| {
            let day = 1 + row % 8;
            let report = self
                .athlete
                .session(&format!("2026-11-{day:02}T10:00:00+01:00"), 1, 0.5);
            report
                .with("external_id", format!("{number}-{row}"))
                .with("note", "x".repeat(280))
                .into_body()
        };
        let key = format!("k-{number}");
        self.athlete
            .club()
            .bulk((0..rows).map(row).collect())
            .idempotency_key(&key)
    }

    /// Writes until nothing fits any more. A write that failed may leave space that a smaller one uses, so they get smaller; the
    /// smallest is the audit row of a read.
    pub(crate) async fn fill(&mut self) {
        for rows in [100, 10, 1] {
            self.write_until_refused(rows).await;
        }
        for _ in 0..2_000 {
            let read = self
                .app()
                .get(format!("athletes/{}/load", self.athlete.id()))
                .await;
            if read.status != 200 {
                read.expect_problem(507, "storage_full");
                return self.write_until_refused(1).await;
            }
        }
        panic!("the disk takes audit rows without end");
    }

    async fn write_until_refused(&mut self, rows: usize) {
        for _ in 0..500 {
            self.calls += 1;
            let answer = self.call(self.calls, rows).await;
            if answer.status != 200 {
                answer.expect_problem(507, "storage_full");
                return;
            }
            assert_eq!(answer["accepted"], rows, "{}", answer.text());
            self.stored += rows;
        }
        panic!("the disk takes {rows} rows without end");
    }

    /// Numbers of calls that have not been sent before.
    fn new_calls(&mut self, number: usize) -> Vec<usize> {
        let first = self.calls + 1;
        self.calls += number;
        (first..first + number).collect()
    }
}

/// Every write is refused by name, what needs no audit row is read, and the program says that it is not ready.
async fn assert_full(server: &Server, filler: &Filler, calls: &[usize]) {
    for call in calls {
        let refused = filler
            .call(*call, 1)
            .await
            .expect_problem(507, "storage_full");
        assert!(
            refused.header("retry-after").is_some(),
            "{}",
            refused.text()
        );
        for list in ["sessions", "athletes", "squads", "flags"] {
            filler.app().get(list).await.expect(200);
        }
    }
    server.anonymous().get("/health/live").await.expect(200);
    let ready = server.anonymous().get("/health/ready").await.expect(503);
    let because = ready["because"][0]["detail"].as_str().expect("a reason");
    assert!(because.contains("Nothing can be written"), "{because}");
    assert!(!server.log().contains("panicked"), "{}", server.log());
}

/// Fills the disk under two writers, and gives it space again.
async fn run_full(mut server: Server, disk: &SmallDisk) -> Server {
    let (club, athletes) = club_of(&server, 2).await;
    let mut writers = writer::writers(&club, &athletes, 5).await;
    let (_, members) = club_of(&server, 1).await;
    let mut filler = Filler::of(&members[0]);
    write(&mut writers, 20).await;

    disk.fill();
    filler.fill().await;
    let refused = filler.new_calls(50);
    assert_full(&server, &filler, &refused).await;

    disk.make_room();
    let freed = Instant::now();
    while server.anonymous().get("/health/ready").await.status != 200 {
        moment().await;
    }
    let until_ready = freed.elapsed();
    for call in refused {
        let stored = filler.call(call, 1).await.expect(200);
        assert_eq!(stored["accepted"], 1, "{}", stored.text());
        filler.stored += 1;
    }
    write(&mut writers, 20).await;
    // And once more from what is on the disk.
    server.kill();
    server.restart_at("2026-11-09T09:00:00+01:00").await;
    let compared = assert_nothing_lost(&club, &writers).await;
    let listed = all_items(&filler.app(), "sessions").await.len();
    assert_eq!(
        listed, filler.stored,
        "what was answered with success, and what is stored"
    );
    println!(
        "disk full: {} reports, 0 lost, 0 doubled, 50 of 50 refused with 507; ready {until_ready:?} after there was space",
        compared.reports + listed,
    );
    server
}

/// Some writes by each writer, all answered.
async fn write(writers: &mut [writer::Writer], number: usize) {
    for writer in writers {
        for _ in 0..number {
            writer.go_on().await;
        }
        writer.replay().await;
    }
}

#[tokio::test]
async fn a_full_disk_under_sqlite() {
    let Some(disk) = disk(12) else { return };
    let url = format!("sqlite://{}", disk.path().join("plimsoll.sqlite").display());
    let server = Server::setup_at(&url)
        .under(disk.under())
        .busy()
        .start()
        .await;
    let server = run_full(server, &disk).await;
    assert_eq!(server.rows("PRAGMA integrity_check"), [["ok"]]);
}

/// The write-ahead log has a disk of its own, as the runbook advises: with it full, PostgreSQL would stop.
#[tokio::test]
async fn a_full_disk_under_postgres() {
    let Some(disk) = disk(80) else { return };
    let postgres = Postgres::start_in(&disk.path().join("server"), disk.under_as_user());
    let server = Server::setup_at(&postgres.url()).busy().start().await;
    run_full(server, &disk).await;
}
