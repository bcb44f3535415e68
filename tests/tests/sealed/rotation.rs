//! Another key for a club while it is read and written.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

use e2e::{Answer, Athlete, Request};
use serde_json::Value;
use tokio::task::{JoinHandle, spawn_blocking};

use crate::*;

/// Reports a day of which each has a note.
const HOURS: std::ops::Range<u32> = 7..15;
/// As far back as everybody may enter reports.
const DAYS: [&str; 12] = [
    "2026-10-28",
    "2026-10-29",
    "2026-10-30",
    "2026-10-31",
    "2026-11-01",
    "2026-11-02",
    "2026-11-03",
    "2026-11-04",
    "2026-11-05",
    "2026-11-06",
    "2026-11-07",
    "2026-11-08",
];

/// Reports of an athlete with their notes, which are their external ids.
fn reports(athlete: &Athlete, name: &str) -> Vec<Value> {
    let slots = DAYS
        .iter()
        .flat_map(|day| HOURS.map(move |hour| (day, hour)));
    let report = |(day, hour): (&&str, u32)| {
        let id = format!("{name} {day} {hour}");
        let draft = athlete.session(&format!("{day}T{hour:02}:00:00+01:00"), 30, 4.0);
        draft
            .with("note", id.as_str())
            .with("external_id", id.as_str())
            .into_body()
    };
    slots.map(report).collect()
}

/// Every report of the club by its external id, with its note.
async fn notes(app: &Client, again: &AtomicUsize) -> BTreeMap<String, String> {
    let (mut found, mut after) = (BTreeMap::new(), None::<String>);
    loop {
        let page = || {
            let page = app.get("sessions").query("limit", 100);
            match &after {
                Some(after) => page.query("after", after),
                None => page,
            }
        };
        let page = answered(page, again).await.expect(200);
        for one in page["items"].as_array().expect("reports") {
            if let (Some(id), Some(note)) = (one["external_id"].as_str(), one["note"].as_str()) {
                found.insert(id.to_owned(), note.to_owned());
            }
        }
        match page["next"].as_str() {
            Some(next) => after = Some(next.to_owned()),
            None => return found,
        }
    }
}

/// What a request is answered, sent again when it is told to come again: on SQLite every clinician's read waits for its audit row,
/// and so for the writer. Counts how often it was told so.
async fn answered(request: impl Fn() -> Request, again: &AtomicUsize) -> Answer {
    loop {
        let answer = request().await;
        if answer.status != 503 {
            return answer;
        }
        assert!(
            again.fetch_add(1, Ordering::Relaxed) < 1_000,
            "busy for good"
        );
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}

/// Reads until told to stop; gives how many reads there were. Each must be answered, and with what was written.
fn reader(
    app: Client,
    trainer: Client,
    (stop, again): (Arc<AtomicBool>, Arc<AtomicUsize>),
) -> JoinHandle<usize> {
    tokio::spawn(async move {
        let mut reads = 0;
        while !stop.load(Ordering::Relaxed) {
            for (id, note) in notes(&app, &again).await {
                assert_eq!(id, note);
            }
            let listed = answered(|| trainer.get("restrictions"), &again)
                .await
                .expect(200);
            assert!(listed.text().contains(PLANTED[3]));
            reads += 2;
        }
        reads
    })
}

/// Writes reports until told to stop; gives those that were answered.
fn writer(
    app: Client,
    reports: Vec<Value>,
    (stop, again): (Arc<AtomicBool>, Arc<AtomicUsize>),
) -> JoinHandle<Vec<String>> {
    tokio::spawn(async move {
        let mut written = Vec::new();
        for report in reports {
            if stop.load(Ordering::Relaxed) {
                break;
            }
            let id = report["external_id"].as_str().expect("an id").to_owned();
            let request = || app.post("sessions", report.clone()).idempotency_key(&id);
            answered(request, &again).await.expect(201);
            written.push(id);
        }
        written
    })
}

on_both_databases! {
    async fn a_rotation_is_noticed_by_nobody(database: Database) {
        let server = Arc::new(Server::start(database).await);
        let (writes, secrets) = plant(&server).await;
        let club = writes.club();
        let squad = club.squad("U18").await;
        let [before, first, second] = [squad.athlete("P-40").await, squad.athlete("P-41").await, squad.athlete("P-42").await];
        club.bulk(reports(&before, "before")).await.expect(200);
        let (app, trainer) = (club.as_role("integration"), club.as_role("athletic_trainer"));
        app.get("sessions").await.expect(200);
        trainer.get("restrictions").await.expect(200);

        let (stop, again) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicUsize::new(0)));
        let told = || (Arc::clone(&stop), Arc::clone(&again));
        let readers = [(); 2].map(|()| reader(app.clone(), trainer.clone(), told()));
        let writers = [("first", &first), ("second", &second)]
            .map(|(name, athlete)| writer(app.clone(), reports(athlete, name), told()));
        for number in 2..=3 {
            let program = Arc::clone(&server);
            let rotated = spawn_blocking(move || program.run(&["keys", "rotate"])).await.expect("it runs");
            let said = String::from_utf8_lossy(&rotated.stdout);
            assert!(said.starts_with(&format!("{} key {number}, ", club.id())), "{said} {rotated:?}");
            assert!(said.ends_with(" values sealed, 1 keys retired\n"), "{said}");
        }
        stop.store(true, Ordering::Relaxed);
        let (mut reads, mut written) = (0, reports(&before, "before").len());
        for reader in readers {
            reads += reader.await.expect("a reader that never failed");
        }
        for writer in writers {
            written += writer.await.expect("a writer that never failed").len();
        }
        let again = again.load(Ordering::Relaxed);
        println!("{database:?}: {reads} reads and {written} reports, none failed, {again} told to come again");
        assert!(reads > 0);

        let found = notes(&app, &AtomicUsize::new(0)).await;
        assert_eq!(found.iter().filter(|(id, note)| id == note).count(), written);
        for column in COLUMNS {
            assert_eq!(values(&server, database, column, 3).1, "0", "of {column}");
        }
        assert_eq!(server.rows("SELECT number FROM club_keys WHERE retired_at IS NULL"), [["3"]]);
        // What was kept for a key is answered again, the secret too.
        let hook = json!({ "url": format!("https://one.example.invalid/{}", PLANTED[8]) });
        let again = club.as_role("club_admin").post("notice-endpoints", hook).idempotency_key("k-7");
        assert_eq!(again.await.expect(201).string("secret"), secrets[0]);
    }
}
