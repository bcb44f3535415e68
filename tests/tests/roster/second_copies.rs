//! Records that are perhaps one person: proposed by an import, decided by somebody who knows them, and undone.

use e2e::{Identity, on_both_databases};
use serde_json::{Value, json};

use crate::{counts, delta, full, read, world};

fn person(id: &str, name: &str) -> Value {
    json!({ "external_id": id, "display_name": name, "birth_date": "2011-03-14", "joined_on": "2026-08-03",
        "memberships": [{ "squad_external_id": "u16", "from": "2026-08-03" }], "guardians": [{ "external_id": "G-1", "from": "2026-08-03" }] })
}

fn people(people: &[Value]) -> Value {
    json!({ "squads": [{ "external_id": "u16", "name": "U16 girls" }], "athletes": people })
}

fn report(key: &str, id: &str, day: &str) -> Value {
    json!({ "external_id": id, "athlete_external_id": key, "started_at": format!("{day}T17:30:00+02:00"), "minutes": 90, "rpe": 6,
        "setting": "club", "kind": "practice", "given_at": format!("{day}T19:25:00+02:00") })
}

on_both_databases! {
    async fn two_records_become_one_and_two_again(database: Database) {
        let (server, club, app) = world(database).await;
        let admin = club.as_role("club_admin");
        delta(&app, people(&[person("P-1", "Runa Falk")])).await.expect(200);
        app.post("sessions", report("P-1", "r-1", "2026-09-07")).await.expect(201);
        // The new season's roster has her under another key and with another surname.
        let answer = full(&app, people(&[person("P-9", "Runa Holm")])).await;
        answer.expect_problem(422, "large_removal");
        let answer = delta(&app, people(&[person("P-9", "Runa Holm")])).await.expect(200);
        let proposal = &answer["second_copies"][0];
        let path = format!("roster/second-copies/{}", proposal["second_copy_id"].as_str().expect("an id"));
        let (first, second) = (read(&app, "P-1").await, read(&app, "P-9").await);
        assert_eq!([&proposal["athlete_id"], &proposal["of_athlete_id"]], [&second["athlete_id"], &first["athlete_id"]]);
        let open = admin.get("roster/second-copies").query("decision", "open").await.expect(200);
        let side = &open["items"][0]["athlete"];
        assert_eq!([&side["external_id"], &side["display_name"], &side["birth_month"], &side["squads"]],
            [&json!("P-9"), &json!("Runa Holm"), &json!("2011-03"), &json!(["U16 girls"])]);

        // Meanwhile her app logs under the new key, and both say that they rest on one day.
        app.post("sessions", report("P-9", "r-2", "2026-09-09")).await.expect(201);
        for key in ["P-1", "P-9"] {
            app.post("rest-days", json!({ "athlete_external_id": key, "date": "2026-09-10" })).await.expect(201);
        }
        let loads = |athlete: Value| {
            let (app, id) = (app.clone(), athlete["athlete_id"].as_str().expect("an id").to_owned());
            async move {
                let load = app.get(format!("athletes/{id}/load")).query("from", "2026-09-07").query("to", "2026-09-10").await;
                load.expect(200)["days"].as_array().expect("days").iter().map(|day| day["load_au"].as_f64().expect("a load")).collect::<Vec<_>>()
            }
        };
        assert_eq!(loads(first.clone()).await, [540.0, 0.0, 0.0, 0.0]);
        let before = server.tables();
        let trial = admin.patch(&path, json!({ "decision": "same_person" })).if_match("\"1\"").dry_run().await.expect(200);
        assert_eq!(server.tables(), before, "a trial stores nothing");

        let decided = admin.patch(&path, json!({ "decision": "same_person" })).if_match("\"1\"").await.expect(200);
        assert_eq!(trial["carried"], decided["carried"]);
        assert_eq!(decided["carried"], json!({ "sessions": 1, "rest_days": 0, "absences": 0, "attendance": 0, "memberships": 0,
            "guardians": 0, "withdrawn": 3 }));
        assert_eq!(loads(first.clone()).await, [540.0, 0.0, 540.0, 0.0], "what was logged under either key is hers");
        let id = second["athlete_id"].as_str().expect("an id");
        app.get(format!("athletes/{id}")).await.expect(404);
        // Either key leads to her: in reports, in tokens, in the next roster.
        assert_eq!(read(&app, "P-9").await["athlete_id"], first["athlete_id"]);
        app.post("sessions", report("P-9", "r-3", "2026-09-10")).await.expect(201);
        let again = full(&app, people(&[person("P-9", "Runa Holm")])).await.expect(200);
        assert_eq!((counts(&again), &again["athletes"][0]["external_id"]), ([0, 1, 0, 0, 0], &json!("P-9")));
        assert_eq!(read(&app, "P-1").await["display_name"], "Runa Holm");
        assert_eq!(again["second_copies"], json!([]));
        let taken = admin.post("athletes", json!({ "external_id": "P-9", "display_name": "Ida Lund", "joined_on": "2026-09-01" })).await;
        assert_eq!(taken.expect_problem(422, "invalid")["errors"][0]["code"], "not_unique");

        // The same decision again changes nothing; another one brings it back.
        let same = admin.patch(&path, json!({ "decision": "same_person" })).if_match("*").await.expect(200);
        assert_eq!(same["version"], decided["version"]);
        let parted = admin.patch(&path, json!({ "decision": "two_people" })).if_match("\"2\"").await.expect(200);
        assert_eq!((&parted["decision"], &parted["carried"]), (&json!("two_people"), &Value::Null));
        assert_eq!(read(&app, "P-9").await["athlete_id"], second["athlete_id"]);
        assert_eq!(loads(first).await, [540.0, 0.0, 0.0, 540.0], "what came in since under the second key stays");
        assert_eq!(loads(second).await, [0.0, 0.0, 540.0, 0.0]);
        let rest = app.get("rest-days").query("from", "2026-09-10").query("to", "2026-09-10").await.expect(200);
        assert_eq!(rest["items"].as_array().map(Vec::len), Some(2));
        assert_eq!(admin.get("roster/second-copies").query("decision", "open").await.expect(200)["items"], json!([]));
    }

    async fn what_is_decided_about_one_person_stands_in_the_way(database: Database) {
        let (_server, club, app) = world(database).await;
        let admin = club.as_role("club_admin");
        // The third is like the second alone.
        let three = [person("P-1", "Runa Falk"), person("P-2", "Runa Holm"), person("P-3", "Rune Holm")];
        let answer = delta(&app, people(&three)).await.expect(200);
        let copies = answer["second_copies"].as_array().expect("proposals");
        let id = |at: usize, field: &str| copies[at][field].as_str().expect("an id").to_owned();
        assert_eq!(id(1, "of_athlete_id"), id(0, "athlete_id"));
        let path = |at: usize| format!("roster/second-copies/{}", id(at, "second_copy_id"));
        let decide = |at: usize, decision: &str| admin.patch(path(at), json!({ "decision": decision })).if_match("*");

        // Whom others are part of is part of nobody, and nobody becomes part of who is gone.
        decide(1, "same_person").await.expect(200);
        decide(0, "same_person").await.expect_problem(409, "second_copy_joined");
        decide(1, "open").await.expect(200);

        // Tests are of one person: they are neither moved nor lost.
        let test = json!({ "athlete_id": id(0, "athlete_id"), "test": "single_hop_distance", "side": "left", "trials": [126, 128],
            "tested_on": "2026-09-02", "tester": "Vera Holm" });
        let trainer = club.as_role("athletic_trainer");
        let test = trainer.post("tests", test).await.expect(201);
        let refused = decide(0, "same_person").await.expect_problem(409, "second_copy_has_records");
        assert!(refused["detail"].as_str().is_some_and(|detail| detail.contains("test_results")), "{}", refused.text());
        let taken_back = trainer.delete(format!("tests/{}", test.string("test_result_id"))).if_match("*");
        taken_back.await.expect(204);
        decide(0, "same_person").await.expect(200);
        decide(1, "same_person").await.expect_problem(409, "second_copy_joined");

        // Who is erased is erased under either key.
        let lead = club.as_role("privacy_lead");
        let erasure = format!("athletes/{}/erasure", id(0, "of_athlete_id"));
        lead.post(erasure, json!({ "reason": "left" })).await.expect(200);
        for at in [0, 1] {
            admin.get(path(at)).await.expect_problem(404, "not_found");
        }
        let copy = lead.get(format!("athletes/{}/copy", id(0, "athlete_id"))).query("purpose", "asked_by_athlete").await;
        copy.expect_problem(404, "not_found");
    }

    async fn bad_decisions_are_named_and_others_may_not_decide(database: Database) {
        let (_server, club, app) = world(database).await;
        let answer = delta(&app, people(&[person("P-1", "Runa Falk"), person("P-2", "Runa Holm")])).await.expect(200);
        let path = format!("roster/second-copies/{}", answer["second_copies"][0]["second_copy_id"].as_str().expect("an id"));
        let admin = club.as_role("club_admin");
        for (body, code) in [(json!({ "decision": null }), "missing_field"), (json!({ "decision": "merge" }), "unknown_value")] {
            let refused = admin.patch(&path, body).if_match("*").await.expect_problem(422, "invalid");
            assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!("/decision"), &json!(code)));
        }
        admin.patch(&path, json!({ "decision": "two_people" })).await.expect_problem(428, "precondition_required");
        for role in ["integration", "coach"] {
            club.client(Identity::role(role)).patch(&path, json!({ "decision": "two_people" })).if_match("*").await.expect(403);
        }
    }
}
