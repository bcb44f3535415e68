//! Every connection taken, locks that nobody gives back, statements that do not end: callers are told soon, and all is well
//! again by itself.

use std::time::{Duration, Instant};

use tokio::task::JoinHandle;

use crate::*;

/// Sends so many of these at once.
fn at_once(
    number: usize,
    request: impl Fn(usize) -> Request,
) -> Vec<JoinHandle<(Answer, Duration)>> {
    let send = |request: Request| async move {
        let began = Instant::now();
        (request.await, began.elapsed())
    };
    (0..number)
        .map(|at| tokio::spawn(send(request(at))))
        .collect()
}

/// Asserts that each was told to come again, with one of these codes, and gives the longest wait.
async fn all_refused(requests: Vec<JoinHandle<(Answer, Duration)>>, codes: &[&str]) -> Duration {
    let mut longest = Duration::ZERO;
    for request in requests {
        let (answer, waited) = request.await.expect("the request ends");
        let answer = answer.expect(503);
        assert!(
            codes.contains(&answer.string("code").as_str()),
            "{}",
            answer.text()
        );
        assert!(answer.header("retry-after").is_some(), "{}", answer.text());
        longest = longest.max(waited);
    }
    longest
}

fn reports(athlete: &Athlete) -> impl Fn(usize) -> Request {
    let app = athlete.club().as_role("integration");
    let report = athlete
        .session("2026-11-03T17:30:00+01:00", 10, 6.0)
        .into_body();
    move |at| {
        let mut report = report.clone();
        report["external_id"] = format!("r-{at}").into();
        app.post("sessions", report)
            .idempotency_key(&format!("k-{at}"))
    }
}

on_both_databases! {
    /// More writers than connections, and none of them comes to an end.
    async fn writers_who_find_no_connection_are_told_so(database: Database) {
        let server = Server::setup(database).busy().start().await;
        let (club, athletes) = club_of(&server, 1).await;
        let write = reports(&athletes[0]);
        club.as_role("integration").get("squads").await.expect(200);

        let held = server.hold_database();
        let refused = at_once(30, &write);
        server.anonymous().get("/health/live").await.expect(200);
        let longest = all_refused(refused, &["busy", "statement_timeout"]).await;
        drop(held);
        all_done(30, &write, 201).await;
        server.anonymous().get("/health/ready").await.expect(200);
        assert_eq!(all_items(&club.as_role("integration"), "sessions").await.len(), 30);
        println!("{database:?}: 30 writers without a connection, the longest was told so after {longest:?}");
    }
}

/// Sends so many at once, each again while it is told to come later, until all have got what they asked for.
async fn all_done(number: usize, request: impl Fn(usize) -> Request, status: u16) {
    let mut left: Vec<usize> = (0..number).collect();
    while !left.is_empty() {
        let sent = at_once(left.len(), |at| request(left[at]));
        let mut again = Vec::new();
        for (at, sent) in left.iter().zip(sent) {
            let (answer, _) = sent.await.expect("the request ends");
            if answer.status == 503 {
                again.push(*at);
            } else {
                answer.expect(status);
            }
        }
        left = again;
    }
}

/// Reads wait for nobody on SQLite; here a lock keeps them, as long maintenance would.
#[tokio::test]
async fn readers_who_find_no_connection_are_told_so_on_postgres() {
    let setup = Server::setup(Database::Postgres)
        .busy()
        .setting("PLIMSOLL_DATABASE_CONNECTIONS", "3");
    let server = setup.start().await;
    let (club, _) = club_of(&server, 1).await;
    let app = club.as_role("integration");
    app.get("sessions").await.expect(200);

    let held = server.hold_tables("clubs, session_reports");
    let refused = at_once(30, |_| app.get("sessions"));
    server.anonymous().get("/health/live").await.expect(200);
    let not_ready = server.anonymous().get("/health/ready").await.expect(503);
    assert_eq!(
        not_ready["because"][0]["source"],
        "database",
        "{}",
        not_ready.text()
    );
    let longest = all_refused(refused, &["busy", "statement_timeout"]).await;
    drop(held);
    all_done(30, |_| app.get("sessions"), 200).await;
    server.anonymous().get("/health/ready").await.expect(200);
    println!("30 readers without a connection, the longest was told so after {longest:?}");
}

/// A statement that would take a minute is stopped after its 5 s, and its connection serves the next.
#[tokio::test]
async fn a_statement_without_end_is_stopped_on_postgres() {
    let server = Server::setup(Database::Postgres).busy().start().await;
    let (club, athletes) = club_of(&server, 1).await;
    let write = reports(&athletes[0]);
    server.rows("CREATE FUNCTION sleep() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN PERFORM pg_sleep(60); RETURN NEW; END'");
    server.rows("CREATE TRIGGER sleep BEFORE INSERT ON session_reports FOR EACH ROW EXECUTE FUNCTION sleep()");
    let longest = all_refused(at_once(8, &write), &["busy", "statement_timeout"]).await;
    let stopped = write(0).await.expect(503);
    assert_eq!(stopped["code"], "statement_timeout", "{}", stopped.text());

    server.rows("DROP TRIGGER sleep ON session_reports");
    for at in 0..100 {
        write(at).await.expect(201);
    }
    assert_eq!(
        all_items(&club.as_role("integration"), "sessions")
            .await
            .len(),
        100
    );
    println!(
        "a statement without end: the longest wait was {longest:?}; 100 of 100 writes afterwards"
    );
}
