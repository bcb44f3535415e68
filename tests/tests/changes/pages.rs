//! The list itself: its order, its cursors, its stream, and whom it is for.

use crate::*;

on_both_databases! {
    async fn each_record_stands_once_at_its_latest_change(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let squad = club.squad("U16").await;
        let athlete = squad.athlete("P-07").await;
        let app = club.as_role("integration");
        let empty_handed = app.get("changes").query("limit", 1).await.expect(200);
        assert_eq!((&empty_handed["items"][0]["kind"], &empty_handed["more"]), (&json!("squad"), &json!(true)));
        let first = athlete.session("2026-11-04T17:30:00+01:00", 60, 5.0).await;
        let second = athlete.session("2026-11-05T17:30:00+01:00", 60, 5.0).await;
        let path = format!("sessions/{}", first.string("session_id"));
        app.patch(&path, json!({ "minutes": 75 })).if_match(first.etag()).await.expect(200);
        let all = app.get("changes").await.expect(200);
        let told: Vec<_> = all["items"].as_array().expect("items").iter()
            .map(|item| (item["kind"].as_str().expect("a kind"), item["version"].clone())).collect();
        assert_eq!(told, [("squad", json!(1)), ("athlete", json!(1)), ("membership", json!(1)), ("session", json!(1)), ("session", json!(2))]);
        assert_eq!((&all["items"][3]["id"], &all["items"][4]["id"]), (&second["session_id"], &first["session_id"]));
        // Nothing has happened since, and the cursor stays good.
        let next = all.string("next");
        let nothing = app.get("changes").query("after", &next).await.expect(200);
        assert_eq!((&nothing["items"], &nothing["next"], &nothing["more"]), (&json!([]), &json!(next), &json!(false)));
        app.delete(&path).if_match("*").body("application/json", r#"{"reason": "entered twice"}"#).await.expect(204);
        let gone = app.get("changes").query("after", &next).await.expect(200);
        assert_eq!((&gone["items"][0]["id"], &gone["items"][0]["deleted"], gone["items"].as_array().map(Vec::len)),
            (&first["session_id"], &json!(true), Some(1)));
        // Behind any single change, as behind a page.
        let after = all["items"][3]["cursor"].as_str().expect("a cursor");
        let rest = app.get("changes").query("after", after).await.expect(200);
        assert_eq!(rest["items"], gone["items"]);
    }

    async fn all_there_is_comes_as_one_stream(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U16").await.athlete("P-07").await;
        let rows = (1..=28).map(|day| athlete.session(&format!("2026-10-{day:02}T17:30:00+02:00"), 60, 5.0).into_body());
        club.bulk(rows.collect()).await.expect(200);
        let app = club.as_role("integration");
        let page = app.get("changes").query("limit", 500).await.expect(200);
        let streamed = app.get("changes").header("Accept", "application/x-ndjson").await;
        assert_eq!(streamed.status, 200);
        let text = streamed.text();
        let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
        assert_eq!(json!(lines), page["items"]);
        assert_eq!(lines.len(), 31);
    }

    async fn it_is_for_programs_and_tells_nothing_of_clinicians(database: Database) {
        let server = Server::start(database).await;
        let writes = e2e::Writes::prepare(&server).await;
        let club = writes.club();
        let all = club.as_role("integration").get("changes").query("limit", 500).await.expect(200);
        let kinds: BTreeSet<_> =
            all["items"].as_array().expect("items").iter().map(|item| item["kind"].as_str().expect("a kind")).collect();
        let expected = ["absence", "athlete", "attendance", "declared_history", "event", "event_warm_up", "flag", "membership", "policy",
            "programme", "programme_assignment", "question", "rest_day", "session", "session_contacts", "squad"];
        assert!(kinds.iter().copied().eq(expected), "{kinds:?}");
        let text = all.text();
        assert!(!text.contains("hurts") && !text.contains("\"text\""), "{text}");
        for role in ["club_admin", "coach", "athletic_trainer", "privacy_lead", "athlete", "guardian"] {
            club.as_role(role).get("changes").await.expect_problem(403, "role_may_not");
        }
    }
}
