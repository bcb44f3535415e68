//! What the service says about itself holds nothing about people: planted words must not come out again.

use e2e::{Database, Document, Server, Writes, on_both_databases};
use serde_json::json;

/// Words that stand nowhere else.
const NAME: &str = "Canaryname";
const NOTE: &str = "canarynote";
const EXTERNAL_ID: &str = "canary-id-4711";
const BIRTH_DATE: &str = "2010-12-24";

async fn plant(server: &Server, writes: &Writes) {
    let (admin, app) = (
        writes.club().as_role("club_admin"),
        writes.club().as_role("integration"),
    );
    let person = json!({ "external_id": EXTERNAL_ID, "display_name": NAME, "birth_date": BIRTH_DATE, "joined_on": "2026-01-01" });
    let made = admin.post("athletes", person.clone()).await.expect(201);
    admin.post("athletes", person).await.expect(422);
    admin
        .post("athletes/search", json!({ "name": NAME }))
        .await
        .expect(200);
    admin
        .get("athletes")
        .query("external_id", EXTERNAL_ID)
        .await
        .expect(200);
    app.get(format!("athletes/{}/load", made.string("athlete_id")))
        .query("setting", NOTE)
        .await
        .expect(400);
    app.get(format!("athletes/{NAME}/load")).await.expect(404);
    app.get("sessions").query("after", NOTE).await.expect(400);
    app.post(
        "sessions",
        json!({ "note": NOTE, "rpe": NAME, "athlete_external_id": EXTERNAL_ID }),
    )
    .await
    .expect(422);
    app.request(e2e::Method::POST, "sessions")
        .body("application/json", format!("{{\"note\": {NOTE}"))
        .await
        .expect(400);
    let report = writes
        .athlete()
        .session("2026-11-05T17:30:00+01:00", 60, 5.0)
        .with("note", NOTE);
    report.with("external_id", EXTERNAL_ID).await;
    server
        .with_token(NOTE)
        .get(format!("/v1/clubs/{}/sessions", writes.club().id()))
        .await
        .expect(401);
    server
        .anonymous()
        .get(format!("/{NAME}?{NOTE}={EXTERNAL_ID}"))
        .await
        .expect(404);
}

on_both_databases! {
    async fn neither_log_nor_metrics_hold_what_was_planted(database: Database) {
        let server = Server::setup(database).setting("PLIMSOLL_LOG", "debug").start().await;
        let writes = Writes::prepare(&server).await;
        plant(&server, &writes).await;
        let token = server.token(&e2e::Identity::role("integration").club(writes.club().id()));
        let metrics = server.anonymous().get("/metrics").await.expect(200).text();
        let log = server.log();
        assert!(log.lines().count() > 20, "{log}");
        let people = [writes.athlete().id().to_owned(), "P-07".to_owned(), "U16".to_owned(), "Havneby".to_owned()];
        let planted = [NAME, NOTE, EXTERNAL_ID, BIRTH_DATE, token.as_str()];
        for word in planted.into_iter().chain(people.iter().map(String::as_str)) {
            assert!(!metrics.contains(word), "{word} is in the metrics");
            let line = log.lines().find(|line| line.contains(word));
            assert_eq!(line, None, "{word} is in the log");
        }
    }

    async fn metrics_stay_few_whatever_is_asked(database: Database) {
        let server = Server::start(database).await;
        let before = server.anonymous().get("/metrics").await.expect(200).text().lines().count();
        for at in 0..50 {
            server.anonymous().get(format!("/nowhere/{at}")).await.expect(404);
            let method = e2e::Method::from_bytes(format!("M{at}").as_bytes()).expect("a method");
            server.anonymous().request(method, "/health/live").await.expect(405);
        }
        let after = server.anonymous().get("/metrics").await.expect(200).text().lines().count();
        assert!(after < before + 100, "{before} lines became {after}");
        assert!(after < 1_000);
    }
}

#[tokio::test]
async fn every_request_has_one_line() {
    let server = Server::start(Database::Sqlite).await;
    let club = server.club("Havneby Handball").await;
    let answers = [
        club.as_role("coach").get("squads").await,
        club.as_role("coach").get("squads").query("limit", 0).await,
        server.anonymous().get("/nowhere").await,
    ];
    let log = server.log();
    for answer in answers {
        let id = answer.header("x-request-id").expect("X-Request-Id");
        let lines: Vec<&str> = log.lines().filter(|line| line.contains(id)).collect();
        assert_eq!(lines.len(), 1, "{lines:?}");
        let line: serde_json::Value = serde_json::from_str(lines[0]).expect("a line is JSON");
        assert_eq!(line["status"], answer.status, "{line}");
    }
    // The document is made without a request's help, so the route of a line is one of its paths.
    let document = Document::served_by(&server).await;
    let routes: Vec<String> = document
        .every_operation()
        .into_iter()
        .map(|operation| operation.path)
        .collect();
    for line in log.lines().filter(|line| line.contains("\"route\"")) {
        let line: serde_json::Value = serde_json::from_str(line).expect("a line is JSON");
        let route = line["route"].as_str().expect("a route");
        assert!(
            route == "unmatched" || routes.iter().any(|known| known == route),
            "{route}"
        );
    }
}
