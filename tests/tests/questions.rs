//! Questions about sessions and programmes: who asks, whom they reach, and what is never said.

use e2e::{Athlete, Client, Club, Database, Server, Squad, on_both_databases};
use serde_json::{Value, json};

const OWN: &str = "0199a1b2-7c3d-7e4f-8a5b-520000000004";

async fn start(database: Database) -> (Server, Club, Squad, Athlete) {
    let server = Server::setup(database)
        .clock("2026-11-09T20:00:00+01:00")
        .start()
        .await;
    let club = server.club("Havneby Handball").await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("P-07").await;
    (server, club, squad, athlete)
}

fn path(athlete: &Athlete) -> String {
    format!("athletes/{}/questions", athlete.id())
}

/// A question about a session that she has logged.
async fn about_session(athlete: &Athlete, text: &str, hurts: bool) -> Value {
    let session = athlete.session("2026-11-09T17:30:00+01:00", 60, 6.0).await;
    let about = json!({ "session_id": session.string("session_id") });
    json!({ "text": text, "hurts": hurts, "about": about })
}

/// Consents that athletic trainers read what she says about pain.
async fn consent(athlete: &Athlete) {
    let words = json!({ "purpose": "look after her", "data_classes": ["pain"], "recipient_role": "athletic_trainer", "text_version": "2026-1" });
    let guardian = athlete.club().as_guardian_of(&[athlete]);
    let path = format!("athletes/{}/consents", athlete.id());
    guardian.post(path, words).await.expect(201);
}

/// The ids that a reader's list holds.
async fn listed(reader: &Client, open: Option<bool>) -> Vec<String> {
    let mut list = reader.get("questions");
    if let Some(open) = open {
        list = list.query("open", open);
    }
    let list = list.await.expect(200);
    let items = list["items"].as_array().expect("items").iter();
    let id = |item: &Value| item["question_id"].as_str().expect("an id").to_owned();
    items.map(id).collect()
}

on_both_databases! {
    async fn a_question_reaches_the_strength_coach_and_the_reply_comes_back(database: Database) {
        let (_server, club, squad, athlete) = start(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let body = about_session(&athlete, "Do I do both legs before I rest?", false).await;
        guardian.post(path(&athlete), body.clone()).dry_run().await.expect(201);
        let post = || athlete.as_caller().post(path(&athlete), body.clone()).idempotency_key("legs");
        let asked = post().await.expect(201);
        assert_eq!(post().await.expect(201).body, asked.body);
        let told = ["text", "hurts", "asked_by", "is_open", "reply", "beside"].map(|field| asked[field].clone());
        let expected = json!(["Do I do both legs before I rest?", false, "athlete", true, null, null]);
        assert_eq!(json!(told), expected);
        assert!(asked.string("note").contains("not an emergency channel"), "{}", asked.text());
        let one = format!("questions/{}", asked.string("question_id"));
        for reader in [&athlete.as_caller(), &guardian] {
            assert_eq!(reader.get(&one).await.expect(200).body, asked.body);
        }

        // The coach of her squad has it in the list, and the load of fourteen days beside it.
        let coach = club.client(e2e::Identity::role("strength_coach").squad(squad.id()));
        assert_eq!(listed(&coach, Some(true)).await, [asked.string("question_id")]);
        let seen = coach.get(&one).await.expect(200);
        let beside = &seen["beside"];
        let days = beside["days"].as_array().expect("days");
        assert_eq!((&beside["from"], &beside["to"], days.len()), (&json!("2026-10-27"), &json!("2026-11-09"), 14));
        let load = json!({ "point": 360.0, "low": 360.0, "high": 360.0 });
        assert_eq!(days[13], json!({ "date": "2026-11-09", "state": "reported", "load_au": load, "sessions": 1, "unlogged": 0, "minutes": 60 }));
        for (field, said) in [("referral", "Do not diagnose"), ("caution", "never clear anyone")] {
            assert!(beside[field].as_str().is_some_and(|text| text.contains(said)), "{beside}");
        }
        assert_eq!(beside["instructions"], json!([]));
        let set = json!({ "athlete_id": athlete.id(), "from": "2026-11-09", "review_date": "2026-11-20", "availability": "limited", "no_jumps": true });
        let licence = json!({ "subject": "trainer-9", "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-12-31" });
        club.as_role("club_admin").post("licences", licence).await.expect(201);
        let trainer = club.client(e2e::Identity::role("athletic_trainer").subject("trainer-9"));
        trainer.post("restrictions", set).await.expect(201);
        let limited = coach.get(&one).await.expect(200);
        assert_eq!(limited["beside"]["instructions"].as_array().map(Vec::len), Some(1), "{}", limited.text());

        // The reply closes it, the family reads it, and it can be opened again.
        let reply = || coach.patch(&one, json!({ "reply": "Both legs, then rest." }));
        reply().await.expect_problem(428, "precondition_required");
        let answered = reply().if_match("\"1\"").await.expect(200);
        assert_eq!((&answered["is_open"], &answered["version"]), (&json!(false), &json!(2)));
        assert_eq!(coach.patch(&one, json!({ "reply": "Both legs, then rest." })).if_match("\"2\"").await.expect(200)["version"], 2);
        assert_eq!(guardian.get(&one).await.expect(200)["reply"], "Both legs, then rest.");
        assert_eq!(listed(&coach, Some(true)).await, Vec::<String>::new());
        assert_eq!(listed(&coach, Some(false)).await, listed(&guardian, None).await);
        let open = coach.patch(&one, json!({ "is_open": true })).if_match("\"2\"").await.expect(200);
        assert_eq!((&open["is_open"], &open["reply"]), (&json!(true), &answered["reply"]));
        reply().if_match("\"2\"").await.expect_problem(412, "precondition_failed");
        let readers = guardian.get(format!("athletes/{}/readers", athlete.id())).await.expect(200);
        let actions: Vec<&Value> = readers["items"].as_array().expect("items").iter().map(|row| &row["action"]).collect();
        assert!(actions.contains(&&json!("read_question")) && actions.contains(&&json!("list_questions")), "{actions:?}");
    }

    async fn where_something_hurts_athletic_trainers_read_it_by_consent_alone(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let body = about_session(&athlete, "My knee hurts after jump throws, do I carry on?", true).await;
        let mut other = body.clone();
        (other["hurts"], other["text"]) = (json!(false), json!("How long do I rest?"));
        let hurts = guardian.post(path(&athlete), body).await.expect(201).string("question_id");
        let rest = guardian.post(path(&athlete), other).await.expect(201).string("question_id");
        let trainer = club.as_role("athletic_trainer");
        let one = format!("questions/{hurts}");
        trainer.get(&one).await.expect_problem(403, "consent_missing");
        assert_eq!(listed(&trainer, None).await, Vec::<String>::new());
        trainer.get("questions").query("athlete", athlete.id()).await.expect_problem(403, "consent_missing");
        consent(&athlete).await;
        let seen = trainer.get(&one).await.expect(200);
        assert_eq!((&seen["asked_by"], seen["beside"].is_object()), (&json!("guardian"), true));
        assert_eq!(listed(&trainer, None).await, std::slice::from_ref(&hurts));
        trainer.get(format!("questions/{rest}")).await.expect_problem(404, "not_found");
        trainer.patch(&one, json!({ "reply": "Stop." })).if_match("\"1\"").await.expect_problem(403, "role_may_not");
        let gaps = club.as_role("privacy_lead").get("consent-gaps").await.expect(200);
        assert_eq!(gaps["gaps"], json!([]));
        // The coach was asked, and reads both; a pain report it is not.
        assert_eq!(listed(&club.as_role("strength_coach"), None).await, [hurts, rest]);
        assert_eq!(guardian.get("pain-reports").await.expect(200)["items"], json!([]));
    }

    async fn nobody_else_reads_or_answers_it(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let body = about_session(&athlete, "Do I do both legs?", true).await;
        let asked = athlete.as_caller().post(path(&athlete), body.clone()).await.expect(201);
        let one = format!("questions/{}", asked.string("question_id"));
        for role in ["coach", "integration", "club_admin", "privacy_lead"] {
            let caller = club.as_role(role);
            caller.get(&one).await.expect_problem(403, "role_may_not");
            caller.get("questions").await.expect_problem(403, "role_may_not");
            caller.post(path(&athlete), body.clone()).await.expect_problem(403, "role_may_not");
        }
        let elsewhere = club.squad("U18").await;
        let other = elsewhere.athlete("P-20").await;
        let stranger = club.client(e2e::Identity::role("strength_coach").squad(elsewhere.id()));
        for reader in [&club.as_guardian_of(&[&other]), &stranger] {
            reader.get(&one).await.expect_problem(404, "not_found");
            assert_eq!(listed(reader, None).await, Vec::<String>::new());
        }
        stranger.patch(&one, json!({ "reply": "Yes." })).if_match("\"1\"").await.expect_problem(404, "not_found");
        other.as_caller().post(path(&athlete), body.clone()).await.expect_problem(404, "not_found");
        // About a session of somebody else nobody asks.
        let refused = other.as_caller().post(path(&other), body).await.expect_problem(422, "invalid");
        assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!("/about/session_id"), &json!("not_hers")));
    }

    async fn it_is_about_something_of_hers(database: Database) {
        let (_server, club, squad, athlete) = start(database).await;
        let item = json!({ "exercise": "squat", "sets": 3, "reps": 10 });
        let session = json!({ "setting": "prescribed_home", "kind": "strength", "items": [item] });
        let week = json!({ "days": [{ "day": "tuesday", "sessions": [session] }] });
        let coach = club.as_role("strength_coach");
        let programme = json!({ "name": "At home", "blocks": [{ "name": "One", "weeks": [week] }] });
        let made = coach.post("programmes", programme).await.expect(201);
        let assign = format!("programmes/{}/assignments/{OWN}", made.string("programme_id"));
        coach.put(assign, json!({ "squad_id": squad.id(), "from": "2026-11-09" })).await.expect(201);
        let event = json!({ "external_id": "e-1", "setting": "club", "kind": "practice", "minutes": 90,
            "starts_at": "2026-11-12T17:30:00+01:00", "squads": [squad.id()] });
        let event = club.as_role("integration").post("events", event).await.expect(201).string("event_id");
        let ask = |about: Value| {
            let body = json!({ "text": "How many?", "about": about });
            athlete.as_caller().post(path(&athlete), body)
        };
        let planned = ask(json!({ "event_id": event })).await.expect(201);
        assert_eq!(planned["about"]["event_id"], json!(event));
        let first = json!({ "assignment_id": OWN, "date": "2026-11-10", "item": 1 });
        let asked = ask(first.clone()).await.expect(201);
        let about = &asked["about"];
        assert_eq!((&about["exercise"], &about["session"], &about["session_id"]), (&json!("squat"), &json!(1), &Value::Null));
        let with = |field: &str, value: Value| {
            let mut about = first.clone();
            about[field] = value;
            about
        };
        for (about, pointer, code) in [
            (Value::Null, "/about", "missing_field"),
            (json!({}), "/about", "missing_field"),
            (with("event_id", json!(event)), "/about", "ambiguous_question"),
            (json!({ "event_id": event, "item": 1 }), "/about", "ambiguous_question"),
            (json!({ "event_id": "no id" }), "/about/event_id", "not_hers"),
            (json!({ "session_id": e2e::FREE_ID }), "/about/session_id", "not_hers"),
            (with("item", json!(2)), "/about/item", "not_hers"),
            (with("item", json!(1.5)), "/about/item", "out_of_range"),
            (with("date", json!("2026-11-11")), "/about/item", "not_hers"),
            (with("date", json!("soon")), "/about/date", "invalid_date"),
            (with("assignment_id", json!(e2e::FREE_ID)), "/about/item", "not_hers"),
        ] {
            let refused = ask(about).await.expect_problem(422, "invalid");
            let fault = &refused["errors"][0];
            assert_eq!((&fault["pointer"], &fault["code"]), (&json!(pointer), &json!(code)), "{}", refused.text());
        }
    }

    async fn texts_and_numbers_have_limits(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let body = about_session(&athlete, "How many?", false).await;
        for (field, value, code) in [
            ("text", json!(null), "missing_field"),
            ("text", json!(" "), "text_empty"),
            ("text", json!("x".repeat(1_001)), "text_too_long"),
            ("advice", json!("rest"), "unknown_field"),
        ] {
            let mut body = body.clone();
            body[field] = value;
            let refused = athlete.as_caller().post(path(&athlete), body).await.expect_problem(422, "invalid");
            assert_eq!(refused["errors"][0]["code"], code, "{}", refused.text());
        }
        let guardian = club.as_guardian_of(&[&athlete]);
        let mut last = String::new();
        for _ in 0..10 {
            last = guardian.post(path(&athlete), body.clone()).await.expect(201).string("question_id");
        }
        guardian.post(path(&athlete), body.clone()).await.expect_problem(409, "too_many_questions");
        let coach = club.as_role("strength_coach");
        coach.patch(format!("questions/{last}"), json!({ "is_open": false })).if_match("*").await.expect(200);
        guardian.post(path(&athlete), body).await.expect(201);
        let page = coach.get("questions").query("limit", 4).await.expect(200);
        assert_eq!(page["items"].as_array().map(Vec::len), Some(4));
        let rest = coach.get("questions").query("limit", 500).query("after", page.string("next")).await.expect(200);
        assert_eq!((rest["items"].as_array().map(Vec::len), &rest["next"]), (Some(7), &Value::Null));
        coach.get("questions").query("open", "maybe").await.expect_problem(400, "bad_query");
    }
}
