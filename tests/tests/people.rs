//! Squads, their members and athletes: made, found, changed, and what they are refused for.

use e2e::{Client, Club, Database, Identity, Server, on_both_databases};
use serde_json::{Value, json};

const NEW: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";

async fn club(database: Database) -> (Server, Club) {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    (server, club)
}

async fn names(caller: &Client, path: &str) -> Vec<String> {
    let list = caller.get(path).await.expect(200);
    let items = list["items"].as_array().expect("items");
    items
        .iter()
        .map(|item| item["display_name"].as_str().expect("a name").to_owned())
        .collect()
}

on_both_databases! {
    async fn a_squad_is_made_changed_and_put(database: Database) {
        let (_server, club) = club(database).await;
        let admin = club.as_role("club_admin");
        let made = admin.post("squads", json!({ "name": "U16 girls", "external_id": "u16" })).await.expect(201);
        assert_eq!((&made["name"], &made["external_id"], &made["version"]), (&json!("U16 girls"), &json!("u16"), &json!(1)));
        let path = format!("squads/{}", made.string("squad_id"));
        assert!(made.header("location").is_some_and(|location| location.ends_with(&path)));

        admin.patch(&path, json!({ "name": "U17" })).await.expect_problem(428, "precondition_required");
        admin.patch(&path, json!({ "name": "U17" })).if_match("\"9\"").await.expect_problem(412, "precondition_failed");
        let changed = admin.patch(&path, json!({ "name": "U17", "external_id": null })).if_match(made.etag()).await.expect(200);
        assert_eq!((&changed["name"], &changed["external_id"], &changed["version"]), (&json!("U17"), &Value::Null, &json!(2)));
        let same = admin.patch(&path, json!({ "name": "U17" })).if_match("\"2\"").await.expect(200);
        assert_eq!(same["version"], 2, "the same content is no new version");

        let put = format!("squads/{NEW}");
        admin.put(&put, json!({ "name": "U18" })).await.expect(201);
        assert_eq!(admin.put(&put, json!({ "name": "U18" })).await.expect(200)["version"], 1);
        admin.put(&put, json!({ "name": "U19" })).await.expect_problem(428, "precondition_required");
        assert_eq!(admin.put(&put, json!({ "name": "U19" })).if_match("\"1\"").await.expect(200)["version"], 2);
        assert_eq!(admin.get(&put).await.expect(200).etag(), "\"2\"");
    }

    async fn an_external_id_belongs_to_one_squad(database: Database) {
        let (_server, club) = club(database).await;
        let admin = club.as_role("club_admin");
        club.squad("U16").await;
        let other = club.squad("U18").await;
        let taken = [("/external_id", "not_unique")];
        admin.post("squads", json!({ "name": "Again", "external_id": "U16" })).await.expect_faults(&taken);
        let patch = admin.patch(format!("squads/{}", other.id()), json!({ "external_id": "U16" })).if_match("*");
        patch.await.expect_faults(&taken);
        let both = json!({ "name": " ", "external_id": "U16" });
        admin.post("squads", both).await.expect_faults(&[("/name", "text_empty"), taken[0]]);
    }

    async fn squads_are_listed_in_pages_and_to_a_coach_as_far_as_they_are_hers(database: Database) {
        let (_server, club) = club(database).await;
        let (u16, _u18) = (club.squad("U16").await, club.squad("U18").await);
        let admin = club.as_role("club_admin");
        let first = admin.get("squads").query("limit", 1).await.expect(200);
        assert_eq!(first["items"][0]["name"], "U16");
        let link = first.header("link").expect("a next page");
        assert!(link.ends_with("rel=\"next\""), "{link}");
        let second = admin.get("squads").query("limit", 1).query("after", first.string("next")).await.expect(200);
        assert_eq!((&second["items"][0]["name"], &second["next"]), (&json!("U18"), &Value::Null));

        let coach = club.as_coach_of(&[&u16]);
        let hers = coach.get("squads").await.expect(200);
        assert_eq!(hers["items"].as_array().map(Vec::len), Some(1));
        coach.post("squads", json!({ "name": "U14" })).await.expect_problem(403, "role_may_not");
    }

    async fn members_come_and_go(database: Database) {
        let (_server, club) = club(database).await;
        let (u16, u18) = (club.squad("U16").await, club.squad("U18").await);
        u16.athlete("P-07").await;
        let app = club.as_role("integration");
        let members = format!("squads/{}/members", u18.id());
        let called_up = json!({ "athlete_external_id": "P-07", "role": "call_up", "from": "2026-09-01", "primary": true });
        let made = app.post(&members, called_up).await.expect(201);
        assert_eq!((&made["display_name"], &made["role"], &made["from"], &made["to"], &made["primary"]),
            (&json!("P-07"), &json!("call_up"), &json!("2026-09-01"), &Value::Null, &json!(true)));
        let path = format!("{members}/{}", made.string("membership_id"));
        assert_eq!(app.get(&path).await.expect(200).body, made.body);

        app.patch(&path, json!({ "to": "2026-10-31" })).await.expect_problem(428, "precondition_required");
        let ended = app.patch(&path, json!({ "to": "2026-10-31" })).if_match(made.etag()).await.expect(200);
        assert_eq!((&ended["to"], &ended["version"]), (&json!("2026-10-31"), &json!(2)));
        assert_eq!(names(&app, &members).await, [""; 0], "today is after the last day");
        assert_eq!(names(&app, &format!("{members}?on=2026-10-31")).await, ["P-07"]);
        assert_eq!(names(&app, &format!("{members}?on=2026-08-31")).await, [""; 0]);

        // Without a first day a membership begins today, 9 November.
        let again = app.post(&members, json!({ "athlete_external_id": "P-07" })).await.expect(201);
        assert_eq!((&again["from"], &again["role"], &again["primary"]), (&json!("2026-11-09"), &json!("member"), &json!(false)));
        let again = format!("{members}/{}", again.string("membership_id"));
        app.delete(&again).if_match("\"1\"").await.expect(204);
        app.get(&again).await.expect_problem(404, "not_found");
        app.delete(&again).if_match("\"1\"").await.expect_problem(404, "not_found");
        assert_eq!(names(&app, &members).await, [""; 0]);
    }

    async fn a_membership_is_refused_for_each_of_its_faults(database: Database) {
        let (_server, club) = club(database).await;
        let (u16, u18) = (club.squad("U16").await, club.squad("U18").await);
        let athlete = u16.athlete("P-07").await;
        let app = club.as_role("integration");
        let (own, other) = (format!("squads/{}/members", u16.id()), format!("squads/{}/members", u18.id()));
        let member = |from: &str, to: Option<&str>, primary: bool| {
            json!({ "athlete_id": athlete.id(), "from": from, "to": to, "primary": primary })
        };
        app.post(&own, member("2026-06-01", None, false)).await.expect_faults(&[("/from", "overlapping_membership")]);
        app.post(&other, member("2026-06-01", Some("2026-08-31"), true)).await.expect(201);
        let third = club.squad("U14").await;
        let third = format!("squads/{}/members", third.id());
        app.post(&third, member("2026-08-31", None, true)).await.expect_faults(&[("/primary", "second_primary")]);
        app.post(&third, member("2026-09-01", None, true)).await.expect(201);
        app.post(&other, member("2026-10-02", Some("2026-10-01"), false)).await.expect_faults(&[("/to", "range_reversed")]);
        app.post(&other, json!({ "athlete_external_id": "P-99", "role": "captain", "from": "soon" })).await
            .expect_faults(&[("/athlete_external_id", "unknown_person"), ("/role", "unknown_value"), ("/from", "invalid_date")]);
        app.post(&other, json!({ "athlete_external_id": "P-07\u{0}" })).await.expect_faults(&[("/athlete_external_id", "unknown_person")]);
        app.post(&other, json!({})).await.expect_faults(&[("/athlete_external_id", "missing_field")]);
        app.post(format!("squads/{NEW}/members"), member("2026-06-01", None, false)).await.expect_problem(404, "not_found");
    }

    async fn an_athlete_is_added_found_and_changed(database: Database) {
        let (_server, club) = club(database).await;
        let squad = club.squad("U16").await;
        let admin = club.as_role("club_admin");
        let body = json!({ "external_id": "P-07", "display_name": "Runa Falk", "birth_date": "2011-03-14",
            "joined_on": "2026-01-01", "squads": [squad.id()] });
        let made = admin.post("athletes", body).await.expect(201);
        assert_eq!(made["squads"], json!([{ "squad_id": squad.id(), "name": "U16", "role": "member",
            "from": "2026-01-01", "to": null, "primary": false }]));
        club.athlete("P-08", &[]).await;

        for (path, expected) in [
            ("athletes".to_owned(), vec!["Runa Falk", "P-08"]),
            ("athletes?external_id=P-07".to_owned(), vec!["Runa Falk"]),
            ("athletes?external_id=P-99".to_owned(), vec![]),
            (format!("athletes?squad={}", squad.id()), vec!["Runa Falk"]),
            (format!("athletes?squad={}&external_id=P-08", squad.id()), vec![]),
        ] {
            assert_eq!(names(&admin, &path).await, expected, "{path}");
        }
        let page = admin.get("athletes").query("limit", 1).await.expect(200);
        let next = admin.get("athletes").query("limit", 1).query("after", page.string("next")).await.expect(200);
        assert_eq!((&next["items"][0]["display_name"], &next["next"]), (&json!("P-08"), &Value::Null));
        admin.get("athletes").query("squad", "U16").await.expect_problem(400, "bad_query");
        admin.get("athletes").query("squad", NEW).await.expect_problem(404, "not_found");

        let found = admin.post("athletes/search", json!({ "name": "FALK" })).await.expect(200);
        assert_eq!(found["items"], json!([made.body]));
        admin.post("athletes/search", json!({ "name": "" })).await.expect_faults(&[("/name", "text_empty")]);

        let path = format!("athletes/{}", made.string("athlete_id"));
        let patch = || admin.patch(&path, json!({ "display_name": "Runa Falk-Berg", "birth_date": null }));
        patch().await.expect_problem(428, "precondition_required");
        patch().if_match("\"7\"").await.expect_problem(412, "precondition_failed");
        let changed = patch().if_match(made.etag()).await.expect(200);
        assert_eq!((&changed["display_name"], &changed["birth_date"], &changed["version"]),
            (&json!("Runa Falk-Berg"), &Value::Null, &json!(2)));
        assert_eq!(admin.get(&path).await.expect(200).body, changed.body);
        assert_eq!(admin.post("athletes/search", json!({ "name": "berg" })).await.expect(200)["items"][0]["version"], 2);
    }

    async fn an_athlete_is_put_under_an_id_of_the_senders_making(database: Database) {
        let (_server, club) = club(database).await;
        let app = club.as_role("integration");
        let path = format!("athletes/{NEW}");
        let content = |name: &str| json!({ "external_id": "P-21", "display_name": name, "joined_on": "2026-01-01" });
        app.put(&path, content("Asta")).if_match("\"1\"").await.expect_problem(412, "precondition_failed");
        assert_eq!(app.put(&path, content("Asta")).await.expect(201)["athlete_id"], NEW);
        assert_eq!(app.put(&path, content("Asta")).await.expect(200)["version"], 1);
        app.put(&path, content("Asta Lund")).await.expect_problem(428, "precondition_required");
        assert_eq!(app.get(&path).await.expect(200)["display_name"], "Asta", "the refused change left no trace");
        assert_eq!(app.put(&path, content("Asta Lund")).if_match("\"1\"").await.expect(200)["version"], 2);
        let mut squads = content("Asta Lund");
        squads["squads"] = json!([]);
        app.put(&path, squads).await.expect_faults(&[("/squads", "unknown_field")]);
    }

    async fn an_athlete_is_refused_for_each_of_its_faults(database: Database) {
        let (_server, club) = club(database).await;
        let squad = club.squad("U16").await;
        club.athlete("P-07", &[]).await;
        let refused = |draft: e2e::Draft<e2e::Athlete>| async move { draft.into_request().await };
        let sent = || club.athlete("P-08", &[]);
        for (field, value, pointer, code) in [
            ("external_id", json!("P-07"), "/external_id", "not_unique"),
            ("display_name", Value::Null, "/display_name", "missing_field"),
            ("birth_date", json!("2030-01-01"), "/birth_date", "birth_date_out_of_range"),
            ("birth_date", json!("2022-01-01"), "/birth_date", "birth_date_out_of_range"),
            ("birth_date", json!("1920-01-01"), "/birth_date", "birth_date_out_of_range"),
            ("joined_on", json!("2027-11-10"), "/joined_on", "out_of_range"),
            ("joined_on", json!("yesterday"), "/joined_on", "invalid_date"),
            ("time_zone", json!("Europe/Atlantis"), "/time_zone", "unknown_time_zone"),
            ("squads", json!([squad.id(), NEW]), "/squads/1", "unknown_squad"),
            ("squads", json!([squad.id(), squad.id()]), "/squads/1", "overlapping_membership"),
            ("squads", json!(["U16"]), "/squads/0", "invalid_id"),
            ("squads", json!(vec![NEW; 21]), "/squads", "out_of_range"),
            ("squads", json!("U16"), "/squads", "wrong_type"),
            ("shoe_size", json!(38), "/shoe_size", "unknown_field"),
        ] {
            let answer = refused(sent().with(field, value.clone())).await;
            answer.expect_faults(&[(pointer, code)]);
        }
        let all = refused(sent().with("external_id", "P-07").with("joined_on", "").with("squads", json!([NEW]))).await;
        all.expect_faults(&[("/joined_on", "invalid_date"), ("/external_id", "not_unique"), ("/squads/0", "unknown_squad")]);
        assert_eq!(names(&club.as_role("club_admin"), "athletes").await, ["P-07"]);
    }

    async fn a_key_repeats_the_answer_and_a_trial_keeps_nothing(database: Database) {
        let (_server, club) = club(database).await;
        let admin = club.as_role("club_admin");
        let trial = club.squad("U16").into_request().dry_run().await.expect(201);
        assert_eq!(trial["version"], 1);
        assert_eq!(admin.get("squads").await.expect(200)["items"], json!([]));
        let first = club.squad("U16").into_request().idempotency_key("k-1").await.expect(201);
        let again = club.squad("U16").into_request().idempotency_key("k-1").await.expect(201);
        assert_eq!((again.header("idempotent-replayed"), &again.bytes), (Some("true"), &first.bytes));
        let other = club.squad("U18").into_request().idempotency_key("k-1").await;
        other.expect_problem(422, "idempotency_key_reused");
        assert_eq!(admin.get("squads").await.expect(200)["items"].as_array().map(Vec::len), Some(1));
    }

    async fn everyone_sees_whom_they_should(database: Database) {
        let (_server, club) = club(database).await;
        let (u16, u18) = (club.squad("U16").await, club.squad("U18").await);
        let (own, other) = (u16.athlete("P-07").await, u18.athlete("P-12").await);
        let both = club.athlete("P-15", &[&u16, &u18]).await;
        let coach = club.as_coach_of(&[&u16]);
        assert_eq!(names(&coach, "athletes").await, ["P-07", "P-15"]);
        assert_eq!(names(&coach, &format!("squads/{}/members", u16.id())).await, ["P-07", "P-15"]);
        // Who is no longer a member is out of a coach's reach, on a date she was one too.
        let past = format!("squads/{}/members", u16.id());
        let left = json!({ "athlete_id": other.id(), "from": "2026-05-01", "to": "2026-05-31" });
        club.as_role("integration").post(&past, left).await.expect(201);
        let past = format!("{past}?on=2026-05-15");
        assert_eq!(names(&club.as_role("coach"), &past).await, ["P-07", "P-12", "P-15"]);
        assert_eq!(names(&coach, &past).await, ["P-07", "P-15"]);
        coach.get(format!("squads/{}/members", u18.id())).await.expect_problem(404, "not_found");
        coach.get("athletes").query("squad", u18.id()).await.expect_problem(404, "not_found");
        coach.get(format!("athletes/{}", other.id())).await.expect_problem(404, "not_found");
        assert_eq!(names(&coach, "athletes?external_id=P-12").await, [""; 0]);
        assert_eq!(coach.post("athletes/search", json!({ "name": "p-" })).await.expect(200)["items"].as_array().map(Vec::len), Some(2));
        let seen = coach.get(format!("athletes/{}", both.id())).await.expect(200);
        assert_eq!((seen["squads"].as_array().map(Vec::len), &seen["squads"][0]["name"]), (Some(1), &json!("U16")));

        assert_eq!(names(&own.as_caller(), "athletes").await, ["P-07"]);
        assert_eq!(names(&club.as_guardian_of(&[&own, &other]), "athletes").await, ["P-07", "P-12"]);
        own.as_caller().get(format!("athletes/{}", other.id())).await.expect_problem(404, "not_found");
        own.as_caller().post("athletes", json!({})).await.expect_problem(403, "role_may_not");
    }

    async fn the_audit_list_says_who_read_whom(database: Database) {
        let (_server, club) = club(database).await;
        let squad = club.squad("U16").await;
        let (own, other) = (squad.athlete("P-07").await, squad.athlete("P-12").await);
        let coach = club.client(Identity::role("coach").subject("coach-3"));
        coach.get(format!("athletes/{}", own.id())).await.expect(200);
        coach.get("rest-days").query("athlete", own.id()).await.expect(200);
        coach.get("absences").query("athlete", other.id()).await.expect(200);
        coach.get("absences").query("athlete", NEW).await.expect_problem(404, "not_found");
        coach.get("rest-days").await.expect(200);

        let lead = club.as_role("privacy_lead");
        let list = lead.get("audit").await.expect(200);
        let reads = list["items"].as_array().expect("items");
        let actions: Vec<&Value> = reads.iter().map(|read| &read["action"]).collect();
        assert_eq!(actions, ["read_athlete", "list_rest_days", "list_absences", "GET absences"]);
        assert_eq!((&reads[3]["outcome"], &reads[3]["athlete_id"]), (&json!("refused"), &Value::Null), "what was not there was not read");
        let first = &reads[0];
        assert_eq!((&first["subject"], &first["role"], &first["athlete_id"], &first["purpose"], &first["outcome"]),
            (&json!("coach-3"), &json!("coach"), &json!(own.id()), &Value::Null, &json!("read")));
        assert_eq!(first["at"].as_str().map(|at| &at[..10]), Some("2026-11-09"));
        let of_one = lead.get("audit").query("athlete", other.id()).await.expect(200);
        assert_eq!(of_one["items"], json!([reads[2]]));
        let page = lead.get("audit").query("limit", 2).await.expect(200);
        let rest = lead.get("audit").query("limit", 2).query("after", page.string("next")).await.expect(200);
        assert_eq!((&rest["items"], &rest["next"]), (&json!([reads[2], reads[3]]), &Value::Null));
        coach.get("audit").await.expect_problem(403, "role_may_not");
    }
}
