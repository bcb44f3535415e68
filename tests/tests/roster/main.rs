//! Rosters that are imported: who is new, changed, as before, gone or refused.

mod packages;
mod second_copies;
mod sources;
mod tables;

use e2e::{
    Answer, Client, Club, Database, Identity, Receiver, Server, inner_addresses, on_both_databases,
};
use serde_json::{Value, json};

async fn world(database: Database) -> (Server, Club, Client) {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    let app = club.as_role("integration");
    (server, club, app)
}

fn athlete(number: usize) -> Value {
    json!({
        "external_id": format!("P-{number}"), "display_name": format!("Player {number}"), "birth_date": "2011-03-14",
        "memberships": [{ "squad_external_id": "u16" }], "guardians": [{ "external_id": format!("G-{number}") }],
    })
}

fn roster(athletes: impl Iterator<Item = Value>) -> Value {
    json!({
        "squads": [{ "external_id": "u16", "name": "U16 girls" }, { "external_id": "u18", "name": "U18 girls" }],
        "athletes": athletes.collect::<Vec<_>>(),
    })
}

/// Counts of created, changed, unchanged, removed, rejected.
fn counts(answer: &Answer) -> [u64; 5] {
    ["created", "changed", "unchanged", "removed", "rejected"]
        .map(|count| answer[count].as_u64().expect("a count"))
}

async fn full(app: &Client, body: Value) -> Answer {
    app.post("roster/imports", body).query("mode", "full").await
}

async fn delta(app: &Client, body: Value) -> Answer {
    app.post("roster/imports", body)
        .query("mode", "delta")
        .await
}

async fn read(app: &Client, external_id: &str) -> Value {
    let found = app
        .get("athletes")
        .query("external_id", external_id)
        .await
        .expect(200);
    found["items"][0].clone()
}

on_both_databases! {
    async fn a_roster_comes_in_and_the_same_again_changes_nothing(database: Database) {
        let (server, _club, app) = world(database).await;
        let sent = roster((0..10).map(athlete));
        let before = server.tables();
        let trial = app.post("roster/imports", sent.clone()).query("mode", "full").dry_run().await.expect(200);
        assert_eq!(counts(&trial), [10, 0, 0, 0, 0]);
        assert_eq!(server.tables(), before, "a trial stores nothing");
        let answer = full(&app, sent.clone()).await.expect(200);
        assert_eq!(counts(&answer), [10, 0, 0, 0, 0]);
        assert_eq!(answer["squads"].as_array().map(Vec::len), Some(2));
        let one = read(&app, "P-3").await;
        assert_eq!((&one["squads"][0]["name"], &one["squads"][0]["from"]), (&json!("U16 girls"), &one["joined_on"]));
        let stored = server.tables();
        assert_eq!(stored["guardian_links"].len(), 10);
        assert_eq!(counts(&full(&app, sent).await.expect(200)), [0, 0, 10, 0, 0]);
        for table in ["athlete_versions", "memberships", "guardian_links", "squads"] {
            assert_eq!(server.tables()[table], stored[table], "{table}");
        }
    }

    async fn what_changed_is_named_and_who_left_keeps_her_history(database: Database) {
        let (_server, _club, app) = world(database).await;
        full(&app, roster((0..10).map(athlete))).await.expect(200);
        let before = read(&app, "P-9").await;
        let mut people: Vec<Value> = (0..9).map(athlete).collect();
        people[0]["display_name"] = json!("Player Zero");
        people[1]["memberships"] = json!([{ "squad_external_id": "u18", "primary": true }]);
        let answer = full(&app, roster(people.into_iter())).await.expect(200);
        assert_eq!(counts(&answer), [0, 2, 7, 1, 0]);
        let results = answer["athletes"].as_array().expect("results");
        assert_eq!((&results[0]["fields"], &results[1]["fields"]), (&json!(["display_name"]), &json!(["memberships"])));
        let gone = results.last().expect("a result");
        assert_eq!((&gone["row"], &gone["external_id"], &gone["outcome"]), (&Value::Null, &json!("P-9"), &json!("removed")));
        let after = read(&app, "P-9").await;
        assert_eq!((&after["athlete_id"], &after["display_name"]), (&before["athlete_id"], &before["display_name"]));
        assert_eq!(read(&app, "P-0").await["version"], 2);
        let moved = read(&app, "P-1").await;
        let current: Vec<&Value> = moved["squads"].as_array().expect("squads").iter().filter(|one| one["to"].is_null()).collect();
        assert_eq!((current.len(), &current[0]["name"], &current[0]["primary"]), (1, &json!("U18 girls"), &json!(true)));
    }

    async fn more_than_a_fifth_leave_only_when_somebody_confirms_it(database: Database) {
        let (_server, _club, app) = world(database).await;
        full(&app, roster((0..10).map(athlete))).await.expect(200);
        let few = roster((0..7).map(athlete));
        let refused = full(&app, few.clone()).await.expect_problem(422, "large_removal");
        assert!(refused["detail"].as_str().is_some_and(|detail| detail.contains("3 of 10")), "{}", refused.text());
        full(&app, few.clone()).await.expect_problem(422, "large_removal");
        let confirmed = app.post("roster/imports", few).query("mode", "full").query("confirm_large_removal", true);
        assert_eq!(counts(&confirmed.await.expect(200)), [0, 0, 7, 3, 0]);
    }

    async fn rows_that_cannot_be_taken_say_why_and_the_others_land(database: Database) {
        let (_server, _club, app) = world(database).await;
        let with = |number: usize, field: &str, value: Value| {
            let mut one = athlete(number);
            one[field] = value;
            one
        };
        let rows = vec![
            athlete(0),
            with(1, "birth_date", json!("2031-01-01")),
            with(2, "memberships", json!([{ "squad_external_id": "u99" }])),
            with(3, "memberships", json!([{ "squad_external_id": "u16", "from": "2026-02-01", "to": "2026-01-01" }])),
            with(4, "guardians", json!([{ "external_id": "P-4" }])),
            with(5, "guardians", json!([{ "external_id": "P-6" }])),
            with(6, "guardians", json!([{ "external_id": "P-5" }])),
            athlete(7),
            with(7, "display_name", json!("Somebody else")),
            with(8, "memberships", json!([{ "squad_external_id": "u16", "primary": true }, { "squad_external_id": "u18", "primary": true }])),
            json!({ "external_id": "P-9" }),
            json!({ "display_name": "Nobody" }),
            with(10, "shirt", json!(7)),
            with(11, "status", json!("left")),
            json!(12),
        ];
        let answer = delta(&app, roster(rows.into_iter())).await.expect(200);
        assert_eq!(counts(&answer), [1, 0, 0, 0, 14]);
        let first = |row: usize| {
            let problem = &answer["athletes"][row - 1]["problems"][0];
            let text = |field: &str| problem[field].as_str().unwrap_or_default().to_owned();
            (text("pointer"), text("code"))
        };
        for (row, pointer, code) in [
            (2, "/birth_date", "birth_date_out_of_range"),
            (3, "/memberships/0/squad_external_id", "unknown_squad"),
            (4, "/memberships/0/to", "range_reversed"),
            (5, "/guardians/0/external_id", "own_guardian"),
            (6, "/guardians/0/external_id", "circular_guardian"),
            (7, "/guardians/0/external_id", "circular_guardian"),
            (8, "/external_id", "contradicting_rows"),
            (9, "/external_id", "contradicting_rows"),
            (10, "/memberships/0/primary", "second_primary"),
            (11, "/display_name", "missing_field"),
            (12, "/external_id", "missing_field"),
            (13, "/shirt", "unknown_field"),
            (14, "/external_id", "unknown_person"),
        ] {
            assert_eq!(first(row), (pointer.to_owned(), code.to_owned()), "row {row}");
        }
        let given = [3, 5, 6].map(|row: usize| answer["athletes"][row - 1]["problems"][0]["given"].clone());
        assert!(given.iter().all(Value::is_string), "what a row gave as squad or guardian is told: {given:?}");
        assert_eq!(app.get("athletes").await.expect(200)["items"].as_array().map(Vec::len), Some(1));
    }

    async fn a_likely_second_copy_is_proposed_and_never_merged(database: Database) {
        let (_server, _club, app) = world(database).await;
        let falk = |id: &str, name: &str| json!({ "external_id": id, "display_name": name, "birth_date": "2011-03-14" });
        delta(&app, roster([falk("P-1", "Runa Falk")].into_iter())).await.expect(200);
        let answer = delta(&app, roster([falk("P-2", "Runa Holm")].into_iter())).await.expect(200);
        assert_eq!(counts(&answer), [1, 0, 0, 0, 0]);
        let (first, second) = (read(&app, "P-1").await, read(&app, "P-2").await);
        let proposed = json!([{ "athlete_id": second["athlete_id"], "external_id": "P-2",
            "of_athlete_id": first["athlete_id"], "of_external_id": "P-1", "second_copy_id": answer["second_copies"][0]["second_copy_id"] }]);
        assert_eq!(answer["second_copies"], proposed);
        assert_ne!(first["athlete_id"], second["athlete_id"]);
    }

    async fn external_ids_are_the_keys_of_their_source(database: Database) {
        let (_server, club, app) = world(database).await;
        full(&app, roster((0..10).map(athlete))).await.expect(200);
        let other = club.client(Identity::role("integration").client("other-app"));
        let answer = full(&other, roster([athlete(0), athlete(20)].into_iter())).await.expect(200);
        assert_eq!(counts(&answer), [1, 0, 0, 0, 1], "nobody of another source leaves");
        assert_eq!(answer["athletes"][0]["problems"][0]["code"], "of_other_source");
        assert_eq!(counts(&full(&app, roster((0..10).map(athlete))).await.expect(200)), [0, 0, 10, 0, 0]);
    }

    async fn what_is_expected_follows_the_roster(database: Database) {
        let (_server, _club, app) = world(database).await;
        let member = |to: Value| json!({ "external_id": "P-1", "display_name": "Runa Falk", "joined_on": "2026-01-01",
            "memberships": [{ "squad_external_id": "u16", "from": "2026-01-01", "to": to }] });
        delta(&app, roster([member(Value::Null)].into_iter())).await.expect(200);
        let squad = read(&app, "P-1").await["squads"][0]["squad_id"].clone();
        let event = |day: &str| json!({ "setting": "club", "kind": "practice", "starts_at": format!("2026-09-{day}T17:30:00+02:00"),
            "minutes": 90, "squads": [squad] });
        for day in ["07", "14"] {
            app.post("events", event(day)).await.expect(201);
        }
        let one = read(&app, "P-1").await.as_object().expect("an athlete")["athlete_id"].as_str().expect("an id").to_owned();
        let expected = || async {
            let load = app.get(format!("athletes/{one}/load")).query("from", "2026-09-07").query("to", "2026-09-14").await.expect(200);
            let days = load["days"].as_array().expect("days").clone();
            [&days[0], &days[7]].map(|day| day["state"] == "unlogged")
        };
        assert_eq!(expected().await, [true, true]);
        let answer = delta(&app, roster([member(json!("2026-09-10"))].into_iter())).await.expect(200);
        assert_eq!(answer["athletes"][0]["fields"], json!(["memberships"]));
        assert_eq!(expected().await, [true, false], "she had left before the second");
    }

    async fn a_repeated_key_replays_the_answer(database: Database) {
        let (_server, _club, app) = world(database).await;
        let send = || app.post("roster/imports", roster((0..3).map(athlete))).query("mode", "full").idempotency_key("k-1");
        let first = send().await.expect(200);
        assert_eq!(send().await.expect(200).bytes, first.bytes);
        let modes = app.post("roster/imports", roster((0..3).map(athlete)));
        let missing = modes.await.expect_problem(400, "bad_query");
        assert_eq!(missing["errors"][0]["pointer"], "?mode");
    }

    async fn three_hundred_athletes_come_in_at_once(database: Database) {
        let (_server, _club, app) = world(database).await;
        let sent = roster((0..300).map(athlete));
        let begun = std::time::Instant::now();
        assert_eq!(counts(&full(&app, sent.clone()).await.expect(200)), [300, 0, 0, 0, 0]);
        let first = begun.elapsed();
        assert_eq!(counts(&full(&app, sent).await.expect(200)), [0, 0, 300, 0, 0]);
        println!("300 athletes: {first:?}, the same again {:?}", begun.elapsed() - first);
    }
}
