//! Bad days of what the service does by itself: the database goes while a week is being closed, the disk is full when one is due.
//! Both are seen in health and metrics, and once the day is better the week is closed and told, once.

use std::collections::BTreeSet;
use std::time::Duration;

use e2e::{Answering, Receiver};

use crate::disk_full::{Filler, disk};
use crate::*;

/// When the week 2026-W46 is due.
const DUE: &str = "2026-11-16T07:00:00+01:00";

/// A club of two, of whom the first has a spike in 2026-W46, and its webhook.
struct Spiked {
    club: Club,
    athletes: Vec<Athlete>,
    receiver: Receiver,
    /// The webhook's id.
    endpoint: String,
}

impl Spiked {
    /// The receiver answers the message of each number (from 0) as `answering` says.
    async fn begin(
        server: &Server,
        answering: impl Fn(usize) -> Answering + Send + Sync + 'static,
    ) -> Self {
        let (club, athletes) = club_of(server, 2).await;
        club.example_policy().await;
        club.bulk(athletes[0].weeks("2026-10-19", &[1380.0, 1380.0, 1530.0]))
            .await
            .expect(200);
        athletes[0]
            .session("2026-11-09T01:00:00+01:00", 288, 10.0)
            .await;
        let receiver = Receiver::start(answering).await;
        let admin = club.as_role("club_admin");
        let made = admin
            .post("notice-endpoints", json!({ "url": receiver.url() }))
            .await
            .expect(201);
        let endpoint = made.string("endpoint_id");
        let path = format!("notice-endpoints/{endpoint}");
        once(|| async { admin.get(&path).await.expect(200)["confirmed_at"].is_string() }).await;
        Self {
            club,
            athletes,
            receiver,
            endpoint,
        }
    }

    /// The week is closed, its flags are raised and the webhook has been told: each once.
    async fn assert_closed_once(&self, server: &Server) {
        const CLOSED: &str = "SELECT count(*) FROM closed_weeks";
        once(|| async { server.rows(CLOSED) == [["1"]] }).await;
        let notices = server.rows("SELECT count(*) FROM notices WHERE kind = 'week_closed'");
        assert_eq!(notices, [["1"]]);
        let flags = server.rows(
            "SELECT count(DISTINCT flag_id), count(*), min(cause), max(cause) FROM flag_versions",
        );
        assert_eq!(flags[0][0], flags[0][1], "a flag was raised twice");
        assert_ne!(flags[0][0], "0", "the warning was lost");
        assert_eq!(flags[0][2..], ["week_closed", "week_closed"]);
        once(|| async { !self.told().is_empty() }).await;
        assert_eq!(self.told().len(), 1);
        once(|| async {
            server.anonymous().get("/health/ready").await.expect(200)["status"] == "ready"
        })
        .await;
    }

    /// The ids of the messages that tell of a closed week.
    fn told(&self) -> BTreeSet<String> {
        let messages = self.receiver.messages();
        let of_close = messages
            .iter()
            .filter(|message| message.body.contains("plimsoll.week_closed"));
        of_close
            .map(|message| message.field("webhook-id").to_owned())
            .collect()
    }
}

/// Waits until something is so. A job that failed looks again after half a minute.
async fn once<F: Future<Output = bool>>(is_so: impl Fn() -> F) {
    for _ in 0..1_200 {
        if is_so().await {
            return;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    panic!("it does not come to that");
}

/// A counter or gauge of the service without labels; 0 where it is not there yet.
async fn metric(server: &Server, name: &str) -> f64 {
    let metrics = server.anonymous().get("/metrics").await.expect(200).text();
    let line = metrics
        .lines()
        .find_map(|line| line.strip_prefix(&format!("{name} ")));
    line.map_or(0.0, |value| value.parse().expect("a number"))
}

const FAILURES: &str = "plimsoll_weekly_close_failures_total";
const LAST_SUCCESS: &str = "plimsoll_weekly_close_last_success_timestamp_seconds";

/// What the service's health names as wrong, and its status.
async fn wrong(server: &Server) -> (u16, Vec<String>) {
    let ready = server.anonymous().get("/health/ready").await;
    let because = ready["because"].as_array().expect("a list").iter();
    let sources = because.map(|cause| cause["source"].as_str().expect("a word").to_owned());
    (ready.status, sources.collect())
}

fn with_jobs(database_url: &str) -> e2e::Setup {
    Server::setup_at(database_url)
        .busy()
        .setting("PLIMSOLL_JOBS", "on")
        .setting("PLIMSOLL_WEBHOOK_LOOPBACK", "on")
}

#[tokio::test]
async fn a_postgres_that_goes_in_mid_close_loses_and_doubles_no_warning() {
    let postgres = Postgres::start();
    let mut server = with_jobs(&postgres.url()).start().await;
    let spiked = Spiked::begin(&server, |_| Answering::Head("204 No Content\r\n")).await;
    let held = server.hold_closes();
    server.restart_at(DUE).await;
    held.is_under_way().await;
    postgres.kill();
    once(|| async { wrong(&server).await.0 == 503 }).await;
    once(|| async { metric(&server, FAILURES).await > 0.0 }).await;
    drop(held);
    postgres.restart();
    assert_eq!(
        server.rows("SELECT count(*) FROM closed_weeks"),
        [["0"]],
        "what was not committed is gone"
    );
    once(|| async { wrong(&server).await.0 == 200 }).await;
    let (_, sources) = wrong(&server).await;
    assert!(sources.contains(&"weekly close".to_owned()), "{sources:?}");
    spiked.assert_closed_once(&server).await;
    assert!(metric(&server, LAST_SUCCESS).await >= due());
    println!(
        "PostgreSQL killed in mid-close: 1 close, {} messages of 1 notice, 0 lost, 0 doubled",
        spiked.told().len()
    );
}

#[tokio::test]
async fn a_disk_that_is_full_when_a_week_is_due_loses_and_doubles_no_warning() {
    let Some(disk) = disk(12) else { return };
    let url = format!("sqlite://{}", disk.path().join("plimsoll.sqlite").display());
    let mut server = with_jobs(&url).under(disk.under()).start().await;
    // The first message is to be sent again when the week is due.
    let spiked = Spiked::begin(&server, |number| match number {
        0 => Answering::Head("503 Service Unavailable\r\nretry-after: 60\r\n"),
        _ => Answering::Head("204 No Content\r\n"),
    })
    .await;
    // Two looks of the job come before that, and in between the disk runs full.
    server.restart_at("2026-11-16T06:59:05+01:00").await;
    let admin = spiked.club.as_role("club_admin");
    let test = format!("notice-endpoints/{}/test", spiked.endpoint);
    admin.post(test, json!({})).await.expect(202);
    spiked.receiver.wait_for(1).await;
    const WRITTEN_DOWN: &str = "SELECT count(*) FROM delivery_attempts WHERE status = 503";
    once(|| async { server.rows(WRITTEN_DOWN) == [["1"]] }).await;
    disk.fill();
    Filler::of(&spiked.athletes[1]).fill().await;

    for source in ["database", "weekly close"] {
        once(|| async { wrong(&server).await.1.iter().any(|named| named == source) }).await;
    }
    assert_eq!(wrong(&server).await.0, 503);
    assert!(metric(&server, FAILURES).await > 0.0);
    assert!(metric(&server, LAST_SUCCESS).await < due());
    once(|| async { metric(&server, "plimsoll_outbox_due").await >= 1.0 }).await;
    let arrived = (spiked.receiver.messages().len(), spiked.told().len());
    assert_eq!(arrived, (1, 0), "what cannot be written down is not sent");

    disk.make_room();
    spiked.assert_closed_once(&server).await;
    assert!(metric(&server, LAST_SUCCESS).await >= due());
    spiked.receiver.wait_for(3).await;
    assert_eq!(server.rows("PRAGMA integrity_check"), [["ok"]]);
    assert!(!server.log().contains("panicked"), "{}", server.log());
    println!(
        "SQLite's disk full when a week is due: 1 close, 1 warning, 2 notices told afterwards, 0 lost, 0 doubled"
    );
}

/// When the week is due, in seconds of the Unix epoch.
fn due() -> f64 {
    let due: jiff::Timestamp = DUE.parse().expect("RFC 3339");
    f64::from(i32::try_from(due.as_second()).expect("before 2038"))
}
