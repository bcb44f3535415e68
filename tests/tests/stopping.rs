//! Stopping and crashing: what was answered with success is there afterwards; nobody can hold the program up.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use e2e::{Athlete, Database, Server, on_both_databases};
use serde_json::Value;
use tokio::task::JoinHandle;

const WRITERS: usize = 8;

/// Reports answered with success, by external id.
type Answered = Arc<Mutex<Vec<String>>>;

/// Eight writers that report sessions one after the other until the server is gone.
struct Writers {
    tasks: Vec<JoinHandle<()>>,
    answered: Answered,
    count: Arc<AtomicUsize>,
}

impl Writers {
    async fn start(athlete: &Athlete) -> Self {
        let (answered, count) = (Answered::default(), Arc::new(AtomicUsize::new(0)));
        // Signed before, so that the writers do not each sign the same token.
        athlete
            .club()
            .as_role("integration")
            .get("sessions")
            .await
            .expect(200);
        let tasks = (0..WRITERS)
            .map(|writer| {
                tokio::spawn(write(
                    writer,
                    athlete.clone(),
                    Arc::clone(&answered),
                    Arc::clone(&count),
                ))
            })
            .collect();
        Self {
            tasks,
            answered,
            count,
        }
    }

    /// Waits until so many reports have been answered.
    async fn have_written(&self, number: usize) {
        while self.count.load(Ordering::Relaxed) < number {
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }

    /// Waits until every writer has seen the end, and gives what was answered.
    async fn end(self) -> Vec<String> {
        for task in self.tasks {
            task.await.expect("a writer ends");
        }
        let answered = self.answered.lock().expect("no writer panicked");
        answered.clone()
    }
}

async fn write(writer: usize, athlete: Athlete, answered: Answered, count: Arc<AtomicUsize>) {
    for at in 0_usize.. {
        let id = format!("w{writer}-{at}");
        let started_at = format!(
            "2026-0{}-{:02}T{:02}:{:02}:00+02:00",
            1 + at / 1_000 % 9,
            1 + at % 28,
            at / 28 % 24,
            writer
        );
        let report = athlete
            .session(&started_at, 5, 5.0)
            .with("external_id", id.as_str());
        let Ok(answer) = report.into_request().attempt().await else {
            return;
        };
        match answer.status {
            201 => {
                answered.lock().expect("no writer panicked").push(id);
                count.fetch_add(1, Ordering::Relaxed);
            }
            // Too busy: nothing was promised.
            503 => {}
            _ => panic!("{}: {}", answer.request, answer.text()),
        }
    }
}

async fn assert_all_there(athlete: &Athlete, answered: &[String]) {
    let app = athlete.club().as_role("integration");
    let mut stored = Vec::new();
    let mut path = Some("sessions?limit=500".to_owned());
    while let Some(target) = path {
        let page = app.get(target).await.expect(200);
        let items = page["items"].as_array().expect("items");
        stored.extend(items.iter().map(|item| item["external_id"].clone()));
        path = page["next"]
            .as_str()
            .map(|next| format!("sessions?limit=500&after={next}"));
    }
    for id in answered {
        assert!(
            stored.contains(&Value::from(id.as_str())),
            "{id} was answered 201 and is lost"
        );
    }
}

async fn athlete(server: &Server) -> Athlete {
    let club = server.club("Havneby Handball").await;
    club.squad("U16").await.athlete("P-07").await
}

/// The head of a `POST` that promises more than it sends.
fn stalled_report(athlete: &Athlete, token: &str) -> String {
    format!(
        "POST /v1/clubs/{}/sessions HTTP/1.1\r\nHost: plimsoll\r\nAuthorization: Bearer {token}\r\n\
         Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n{{\"rpe\":",
        athlete.club().id(),
    )
}

fn token(server: &Server, athlete: &Athlete) -> String {
    server.token(&e2e::Identity::role("integration").club(athlete.club().id()))
}

on_both_databases! {
    async fn a_graceful_stop_loses_nothing_that_was_answered(database: Database) {
        let mut server = Server::start(database).await;
        let athlete = athlete(&server).await;
        let writers = Writers::start(&athlete).await;
        writers.have_written(100).await;
        server.ask_to_stop();
        let answered = writers.end().await;
        let status = server.ended().await;
        assert!(status.success(), "after SIGTERM the program ended with {status}");
        server.restart().await;
        assert_all_there(&athlete, &answered).await;
    }

    async fn a_crash_loses_nothing_that_was_answered(database: Database) {
        let mut server = Server::start(database).await;
        let athlete = athlete(&server).await;
        let writers = Writers::start(&athlete).await;
        writers.have_written(100).await;
        server.kill();
        let answered = writers.end().await;
        server.restart().await;
        assert_all_there(&athlete, &answered).await;
        // And it goes on as before.
        athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0).await;
    }

    async fn a_stalled_body_does_not_hold_up_the_stop(database: Database) {
        let mut server = Server::start(database).await;
        let athlete = athlete(&server).await;
        let mut stalled = server.connect().await;
        assert!(stalled.send(stalled_report(&athlete, &token(&server, &athlete))).await);
        // The other request is answered, so the stalled one has been taken up before it.
        server.anonymous().get("/health/live").await.expect(200);
        server.ask_to_stop();
        // Whoever stalls is told so, and the program ends.
        assert_eq!(stalled.read_status().await, "HTTP/1.1 408 Request Timeout");
        let status = server.ended().await;
        assert!(status.success(), "the program ended with {status}");
    }
}

#[tokio::test]
async fn a_head_that_does_not_come_is_closed() {
    let server = Server::start(Database::Sqlite).await;
    let mut silent = server.connect().await;
    let mut slow = server.connect().await;
    assert!(slow.send("GET /health/live HTTP/1.1\r\nHost: plim").await);
    let (said, slow_said) = tokio::join!(silent.read_to_end(), slow.read_to_end());
    for said in [said, slow_said] {
        let closed = said.is_empty() || said.starts_with("HTTP/1.1 408");
        assert!(closed, "{said}");
    }
    server.anonymous().get("/health/live").await.expect(200);
}

#[tokio::test]
async fn a_body_that_stalls_is_answered_408() {
    let server = Server::start(Database::Sqlite).await;
    let athlete = athlete(&server).await;
    let mut stalled = server.connect().await;
    assert!(
        stalled
            .send(stalled_report(&athlete, &token(&server, &athlete)))
            .await
    );
    assert_eq!(stalled.read_status().await, "HTTP/1.1 408 Request Timeout");
    server.anonymous().get("/health/live").await.expect(200);
}

/// Slow in every way there is: heads that do not end, bodies that do not come, answers that are not read.
#[tokio::test]
async fn a89_slow_callers_hold_up_nobody() {
    let server = Server::start(Database::Sqlite).await;
    let athlete = athlete(&server).await;
    let body = stalled_report(&athlete, &token(&server, &athlete));
    let unread = UNREAD.repeat(200);
    let mut slow = Vec::new();
    for at in 0..150 {
        let mut connection = server.connect().await;
        let said = match at % 3 {
            0 => "GET /health/live HTTP/1.1\r\nHost: plim",
            1 => body.as_str(),
            _ => unread.as_str(),
        };
        assert!(connection.send(said).await);
        slow.push(connection);
    }
    let app = athlete.club().as_role("integration");
    for day in 1..=8 {
        let at = format!("2026-11-{day:02}T17:30:00+01:00");
        athlete.session(&at, 90, 6.0).await;
        for _ in 0..10 {
            app.get("sessions").await.expect(200);
            server.anonymous().get("/health/live").await.expect(200);
        }
    }
    drop(slow);
    server.anonymous().get("/health/ready").await.expect(200);
}

/// A large answer; many of them fill every buffer between the two ends.
const UNREAD: &str = "GET /openapi.json HTTP/1.1\r\nHost: plimsoll\r\n\r\n";

#[tokio::test]
#[ignore = "takes three quarters of a minute"]
async fn an_answer_that_is_not_read_is_given_up() {
    let server = Server::start(Database::Sqlite).await;
    let mut unread = server.connect().await;
    assert!(unread.send(UNREAD.repeat(200)).await);
    tokio::time::sleep(Duration::from_secs(45)).await;
    // What had been sent is still there; then comes the end, and not the rest.
    let said = unread.read_to_end().await;
    let answers = said.matches("HTTP/1.1 200").count();
    assert!((1..200).contains(&answers), "{answers} answers");
    server.anonymous().get("/health/live").await.expect(200);
}

/// One byte a second keeps a connection alive, not a request.
#[tokio::test]
async fn a_body_that_trickles_is_answered_408() {
    let server = Server::start(Database::Sqlite).await;
    let athlete = athlete(&server).await;
    let mut trickle = server.connect().await;
    assert!(
        trickle
            .send(stalled_report(&athlete, &token(&server, &athlete)))
            .await
    );
    for _ in 0..8 {
        tokio::time::sleep(Duration::from_secs(1)).await;
        if !trickle.send(" ").await {
            break;
        }
    }
    assert_eq!(trickle.read_status().await, "HTTP/1.1 408 Request Timeout");
}

/// Fast enough at every moment, too slow as a whole.
#[tokio::test]
#[ignore = "takes half a minute"]
async fn a_body_has_thirty_seconds_in_all() {
    let server = Server::start(Database::Sqlite).await;
    let athlete = athlete(&server).await;
    let head = stalled_report(&athlete, &token(&server, &athlete))
        .replace("Length: 1000", "Length: 1000000");
    let mut slow = server.connect().await;
    assert!(slow.send(head).await);
    for _ in 0..40 {
        tokio::time::sleep(Duration::from_secs(1)).await;
        if !slow.send(" ".repeat(2_000)).await {
            break;
        }
    }
    assert_eq!(slow.read_status().await, "HTTP/1.1 408 Request Timeout");
}
