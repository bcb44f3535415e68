//! When the database cannot be written for a while: nothing is read without its audit row, nothing is lost or doubled,
//! and the program goes on by itself.

use e2e::{Athlete, Client, Server, on_both_databases};
use serde_json::json;

async fn club_with_report(server: &Server) -> (Athlete, Client) {
    let club = server.club("Havneby Handball").await;
    let athlete = club.squad("U16").await.athlete("P-07").await;
    athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0).await;
    let app = club.as_role("integration");
    (athlete, app)
}

on_both_databases! {
    async fn no_audit_no_data(database: Database) {
        let server = Server::start(database).await;
        let (athlete, app) = club_with_report(&server).await;
        let load = format!("athletes/{}/load", athlete.id());
        app.get(&load).await.expect(200);
        let session = app.get("sessions").await.expect(200)["items"][0]["session_id"].as_str().expect("an id").to_owned();

        let held = server.hold_database();
        let id = athlete.id();
        let lists = ["sessions", "events", "flags", "contradictions"].map(|list| format!("{list}?athlete={id}"));
        let own = [load.clone(), format!("athletes/{id}/weeks"), format!("sessions/{session}")];
        for path in own.iter().chain(&lists) {
            let refused = app.get(path).await.expect(503);
            assert!(refused.header("retry-after").is_some(), "{path}");
            // The id of the request is made of random digits.
            let said = refused.text().replace(&refused.string("instance"), "");
            assert!(!said.contains("540") && !said.contains("P-07"), "{said}");
        }
        // What names no athlete needs no row.
        app.get("squads").await.expect(200);
        server.anonymous().get("/health/live").await.expect(200);
        drop(held);
        app.get(&load).await.expect(200);
    }

    async fn a_write_that_cannot_be_stored_says_so_and_may_be_sent_again(database: Database) {
        let server = Server::start(database).await;
        let (athlete, app) = club_with_report(&server).await;
        let report = athlete.session("2026-11-04T17:30:00+01:00", 60, 5.0).into_body();
        let send = || app.post("sessions", report.clone()).idempotency_key("k-1");

        let held = server.hold_database();
        let refused = send().await.expect(503);
        assert!(refused.header("retry-after").is_some(), "{}", refused.text());
        let bulk = app.post("sessions/bulk", json!({ "sessions": [report.clone()] })).await.expect(503);
        assert!(["busy", "statement_timeout"].contains(&bulk.string("code").as_str()), "{}", bulk.text());
        drop(held);
        let stored = send().await.expect(201);
        assert_eq!(send().await.expect(201).bytes, stored.bytes);
        assert_eq!(app.get("sessions").await.expect(200)["items"].as_array().map(Vec::len), Some(2));
    }
}
