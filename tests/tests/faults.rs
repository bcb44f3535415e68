//! Failures on our side, forced by a field that only test builds know: the request is told so without details, and everything
//! else goes on.

use e2e::{Answer, Athlete, Database, Identity, Server, on_both_databases};
use serde_json::Value;

const FAULT: &str = "X-Test-Fault";
/// What the cause of each failure holds.
const DETAILS: [&str; 3] = ["planted", "SELECT", "/var/lib"];

async fn athlete(server: &Server) -> Athlete {
    let club = server.club("Havneby Handball").await;
    club.squad("U16").await.athlete("P-07").await
}

/// A 500 that names the request and nothing of the cause; gives the request's id.
#[track_caller]
fn assert_tells_nothing(answer: Answer) -> String {
    let answer = answer.expect_problem(500, "internal");
    let id = answer.header("x-request-id").expect("X-Request-Id");
    assert_eq!(answer["instance"], id);
    let body = answer.body.as_object().expect("a problem");
    let names: Vec<_> = body.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        ["code", "detail", "instance", "status", "title", "type"]
    );
    let all = format!("{} {:?}", answer.text(), answer.headers);
    for detail in DETAILS.into_iter().chain(["panic", ".rs"]) {
        assert!(!all.contains(detail), "{detail}: {all}");
    }
    id.to_owned()
}

#[track_caller]
fn line_of(log: &str, id: &str, what: &str) {
    let found = log
        .lines()
        .any(|line| line.contains(id) && line.contains(what));
    assert!(found, "no line with {what} of {id}:\n{log}");
}

on_both_databases! {
    async fn a95_a_failure_inside_is_told_without_details(database: Database) {
        let server = Server::start(database).await;
        let athlete = athlete(&server).await;
        let app = athlete.club().as_role("integration");
        let report = athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0).into_body();
        for request in [app.get("sessions"), app.post("sessions", report)] {
            let id = assert_tells_nothing(request.header(FAULT, "error").await);
            // Who runs the service finds the cause by the id.
            line_of(&server.log(), &id, DETAILS[0]);
        }
        assert_eq!(app.get("sessions").await.expect(200)["items"], Value::Array(Vec::new()));
    }

    async fn a96_a_panic_ends_its_own_request_only(database: Database) {
        let server = Server::start(database).await;
        let athlete = athlete(&server).await;
        let app = athlete.club().as_role("integration");
        app.get("sessions").await.expect(200);
        for (day, fault) in (3..).zip(["panic", "panic-in-read", "panic-in-write"]) {
            let requests = (0..40).map(|at| match at % 4 {
                0 => app.get("sessions").header(FAULT, fault),
                _ => app.get("squads"),
            });
            let sent: Vec<_> = requests.map(|request| tokio::spawn(request.into_future())).collect();
            for (at, answer) in sent.into_iter().enumerate() {
                let answer = answer.await.expect("an answer");
                if at % 4 == 0 {
                    line_of(&server.log(), &assert_tells_nothing(answer), "\"status\":500");
                } else {
                    answer.expect(200);
                }
            }
            let at = format!("2026-11-{day:02}T17:30:00+01:00");
            athlete.session(&at, 90, 6.0).await;
        }
        assert_eq!(app.get("sessions").await.expect(200)["items"].as_array().map(Vec::len), Some(3));
        server.anonymous().get("/health/ready").await.expect(200);
        let log = server.log();
        assert!(log.contains("fault.rs"), "it says where:\n{log}");
        assert!(!log.contains(DETAILS[0]), "what a panic says may hold values:\n{log}");
    }
}

#[tokio::test]
async fn a96_the_connection_goes_on_after_a_panic() {
    let server = Server::start(Database::Sqlite).await;
    let athlete = athlete(&server).await;
    let club = athlete.club().id();
    let token = server.token(&Identity::role("integration").club(club));
    let head = format!(
        "GET /v1/clubs/{club}/squads HTTP/1.1\r\nHost: plimsoll\r\nAuthorization: Bearer {token}\r\n"
    );
    let requests = format!("{head}{FAULT}: panic\r\n\r\n{head}\r\n{head}Connection: close\r\n\r\n");
    let mut connection = server.connect().await;
    assert!(connection.send(requests).await);
    let said = connection.read_to_end().await;
    let statuses: Vec<_> = said
        .match_indices("HTTP/1.1 ")
        .map(|(at, _)| &said[at + 9..at + 12])
        .collect();
    assert_eq!(statuses, ["500", "200", "200"], "{said}");
}
