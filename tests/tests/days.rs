//! Rest days and absences: entered, found, taken back, and what they are refused for.

use e2e::{Answer, Athlete, Club, Database, Server, on_both_databases};
use serde_json::{Value, json};

const NEW: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";

async fn world(database: Database) -> (Server, Club, Athlete) {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    let athlete = club.squad("U16").await.athlete("P-07").await;
    (server, club, athlete)
}

fn absence(athlete: &Athlete, from: &str, to: &str, category: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "from": from, "to": to, "category": category })
}

on_both_databases! {
    async fn a_day_of_rest_is_declared_once_and_taken_back(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let own = athlete.as_caller();
        let declared = own.post("rest-days", json!({ "athlete_id": athlete.id(), "date": "2026-11-08" })).await.expect(201);
        assert_eq!((&declared["date"], &declared["given_by"], &declared["version"]), (&json!("2026-11-08"), &json!("athlete"), &json!(1)));
        assert_eq!(athlete.day_figures("2026-11-08").await["state"], "rest_declared");
        let app = club.as_role("integration");
        let again = app.post("rest-days", json!({ "athlete_external_id": "P-07", "date": "2026-11-08", "given_by": "guardian" })).await.expect(200);
        assert_eq!(again.body, declared.body, "the entry that is there");

        let path = format!("rest-days/{}", declared.string("rest_day_id"));
        assert_eq!(own.get(&path).await.expect(200).body, declared.body);
        own.delete(&path).await.expect_problem(428, "precondition_required");
        own.delete(&path).if_match("\"2\"").await.expect_problem(412, "precondition_failed");
        own.delete(&path).if_match(declared.etag()).await.expect(204);
        own.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(athlete.day_figures("2026-11-08").await["state"], "assumed_rest");
        own.post("rest-days", json!({ "athlete_id": athlete.id(), "date": "2026-11-08" })).await.expect(201);
    }

    async fn a_day_of_rest_is_refused_for_each_of_its_faults(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let app = club.as_role("integration");
        let sent = |date: Value, given_by: Value| json!({ "athlete_id": athlete.id(), "date": date, "given_by": given_by });
        app.post("rest-days", sent(json!("2026-11-10"), Value::Null)).await.expect(201);
        app.post("rest-days", sent(json!("2026-11-11"), Value::Null)).await.expect_faults(&[("/date", "in_future")]);
        app.post("rest-days", sent(json!("0026-11-01"), json!("aunt"))).await
            .expect_faults(&[("/date", "out_of_range"), ("/given_by", "unknown_value")]);
        app.post("rest-days", json!({ "athlete_id": NEW })).await
            .expect_faults(&[("/athlete_id", "unknown_person"), ("/date", "missing_field")]);
        let both = json!({ "athlete_id": athlete.id(), "athlete_external_id": "P-07", "date": "2026-11-01" });
        app.post("rest-days", both).await.expect_faults(&[("/athlete_id", "ambiguous_person")]);
        let own = athlete.as_caller();
        own.post("rest-days", sent(json!("2026-11-01"), json!("coach"))).await.expect_faults(&[("/given_by", "unknown_value")]);
        club.as_role("coach").post("rest-days", sent(json!("2026-11-01"), Value::Null)).await.expect_problem(403, "role_may_not");
    }

    async fn an_absence_is_entered_once_and_taken_back(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let body = absence(&athlete, "2026-10-12", "2026-10-18", "holiday");
        let entered = guardian.post("absences", body.clone()).await.expect(201);
        assert_eq!((&entered["from"], &entered["to"], &entered["category"], &entered["given_by"]),
            (&json!("2026-10-12"), &json!("2026-10-18"), &json!("holiday"), &json!("guardian")));
        assert_eq!(guardian.post("absences", body).await.expect(200).body, entered.body);
        assert_eq!(athlete.day_figures("2026-10-18").await["state"], "absence");
        let path = format!("absences/{}", entered.string("absence_id"));
        assert_eq!(guardian.get(&path).await.expect(200).body, entered.body);
        guardian.delete(&path).await.expect_problem(428, "precondition_required");
        guardian.delete(&path).if_match(entered.etag()).await.expect(204);
        guardian.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(athlete.day_figures("2026-10-18").await["state"], "assumed_rest");
    }

    async fn an_absence_is_refused_for_each_of_its_faults(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let app = club.as_role("integration");
        for (from, to, category, pointer, code) in [
            ("2026-10-18", "2026-10-12", "away", "/to", "range_reversed"),
            ("2025-11-01", "2026-11-06", "away", "/to", "range_too_long"),
            ("2027-11-10", "2027-11-12", "away", "/from", "out_of_range"),
            ("2026-10-12", "soon", "away", "/to", "invalid_date"),
            ("2026-10-12", "2026-10-18", "flu", "/category", "unknown_value"),
            // A reason of health does not come through a program.
            ("2026-10-12", "2026-10-18", "not_available", "/category", "unknown_value"),
        ] {
            let answer = app.post("absences", absence(&athlete, from, to, category)).await;
            answer.expect_faults(&[(pointer, code)]);
        }
        app.post("absences", json!({ "given_by": "aunt" })).await.expect_faults(&[
            ("/athlete_external_id", "missing_field"), ("/from", "missing_field"), ("/to", "missing_field"),
            ("/category", "missing_field"), ("/given_by", "unknown_value"),
        ]);
        let unavailable = absence(&athlete, "2026-10-12", "2026-10-18", "not_available");
        club.as_role("coach").post("absences", unavailable.clone()).await.expect_problem(403, "role_may_not");
        club.as_role("athletic_trainer").post("absences", unavailable).await.expect(201);
    }

    async fn days_are_listed_within_reach(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let other = club.squad("U18").await.athlete("P-12").await;
        for date in ["2026-11-01", "2026-11-04", "2026-11-07"] {
            athlete.rest(date).await;
        }
        other.rest("2026-11-01").await;
        let app = club.as_role("integration");
        app.post("absences", absence(&other, "2026-10-01", "2026-10-20", "exams")).await.expect(201);
        let dates = |list: &Answer| -> Vec<String> {
            let items = list["items"].as_array().expect("items");
            items.iter().map(|item| item["date"].as_str().expect("a date").to_owned()).collect()
        };
        assert_eq!(dates(&app.get("rest-days").await.expect(200)).len(), 4);
        let some = app.get("rest-days").query("athlete", athlete.id()).query("from", "2026-11-02").query("to", "2026-11-07");
        assert_eq!(dates(&some.await.expect(200)), ["2026-11-04", "2026-11-07"]);
        let page = app.get("rest-days").query("limit", 3).await.expect(200);
        let rest = app.get("rest-days").query("limit", 3).query("after", page.string("next")).await.expect(200);
        assert_eq!((dates(&page).len(), dates(&rest).len()), (3, 1));
        app.get("rest-days").query("limit", 4).query("from", "2026-11-02").query("after", page.string("next")).await
            .expect_problem(400, "bad_cursor");
        app.get("absences").query("from", "2026-10-20").query("to", "2026-10-19").await.expect_problem(400, "bad_query");
        let touching = app.get("absences").query("from", "2026-10-20").await.expect(200);
        assert_eq!(touching["items"].as_array().map(Vec::len), Some(1));

        let own = athlete.as_caller();
        assert_eq!(dates(&own.get("rest-days").await.expect(200)).len(), 3);
        assert_eq!(own.get("absences").await.expect(200)["items"], json!([]));
        own.get("rest-days").query("athlete", other.id()).await.expect_problem(404, "not_found");
        own.post("rest-days", json!({ "athlete_id": other.id(), "date": "2026-11-02" })).await
            .expect_faults(&[("/athlete_id", "unknown_person")]);
        let theirs = app.get("absences").await.expect(200);
        let theirs = format!("absences/{}", theirs["items"][0]["absence_id"].as_str().expect("an id"));
        own.get(&theirs).await.expect_problem(404, "not_found");
        own.delete(&theirs).if_match("*").await.expect_problem(404, "not_found");
    }
}
