//! Landings and throws counted in a session: who enters and reads them, what they come to, and what a history makes of them.

use e2e::{
    Answer, Athlete, Club, Database, Server, Squad, assert_exact, assert_none, assert_same_history,
    example_rules, on_both_databases,
};
use serde_json::{Value, json};

/// The sessions of the week of 7 September 2026, which are over when it is asked.
const TUESDAY: &str = "2026-09-08T17:30:00+02:00";
const THURSDAY: &str = "2026-09-10T17:30:00+02:00";
const SATURDAY: &str = "2026-09-12T10:00:00+02:00";

async fn start(database: Database) -> (Server, Club, Squad, Athlete) {
    let server = Server::setup(database)
        .clock("2026-09-13T20:00:00+02:00")
        .start()
        .await;
    let club = server.club("Havneby Handball").await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("P-07").await;
    (server, club, squad, athlete)
}

/// A policy with a limit of 100 landings and of 48 hours between jumps, written down and not switched on.
async fn policy_on_jumps(club: &Club) {
    let mut rules = example_rules();
    for (code, limit) in [("landing_contacts", 100), ("jump_gap", 48)] {
        let rule =
            json!({ "code": code, "enabled": false, "limit": limit, "source_note": "club choice" });
        rules.as_array_mut().expect("rules").push(rule);
    }
    club.example_policy().with("rules", rules).await;
}

/// Reports 90 minutes of practice; answers where its counts stand.
async fn session(athlete: &Athlete, started_at: &str) -> String {
    let report = athlete.session(started_at, 90, 6.0).await;
    format!("sessions/{}/contacts", report.string("session_id"))
}

/// What was counted in a practice: 61 landings on both feet, 51 on either foot alone.
fn handball() -> Value {
    let landings =
        json!({ "both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24 });
    json!({ "landings": landings, "throws": 80, "basis": "counted" })
}

fn jumps(both_feet: u32) -> Value {
    json!({ "landings": { "both_feet": both_feet, "left_foot": 0, "right_foot": 0 }, "basis": "counted" })
}

async fn count(club: &Club, path: &str, counts: Value) -> Answer {
    let app = club.as_role("integration");
    app.put(path, counts).await.expect(201)
}

async fn figures(club: &Club, athlete: &Athlete) -> Answer {
    let coach = club.as_role("coach");
    coach
        .get(format!("athletes/{}/contacts", athlete.id()))
        .await
        .expect(200)
}

on_both_databases! {
    async fn a_practice_is_counted_and_held_against_the_policy(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        policy_on_jumps(&club).await;
        let (tuesday, thursday) = (session(&athlete, TUESDAY).await, session(&athlete, THURSDAY).await);
        session(&athlete, SATURDAY).await;
        count(&club, &tuesday, jumps(40)).await;
        let counted = count(&club, &thursday, handball()).await;
        assert_eq!(counted["landings"], handball()["landings"]);
        // Each landing once: 61 + 51 + 51. Those on both feet on either leg: 61 + 51.
        let told = ["events", "left_leg", "right_leg", "throws", "version", "warnings"].map(|field| &counted[field]);
        assert_eq!(json!(told), json!([163, 112, 112, 80, 1, []]));
        assert_eq!((counted.string("athlete_id").as_str(), &counted["basis"]), (athlete.id(), &json!("counted")));

        let found = figures(&club, &athlete).await;
        assert_eq!((&found["from"], &found["to"]), (&json!("2026-08-17"), &json!("2026-09-13")));
        assert_eq!((&found["sessions_not_counted"], &found["policy_version"]), (&json!(1), &json!(1)));
        let sessions = found["sessions"].as_array().expect("sessions");
        let [first, second] = &sessions[..] else { panic!("two sessions: {}", found.text()) };
        let when = ["date", "started_at", "setting", "kind"].map(|field| &second[field]);
        assert_eq!(json!(when), json!(["2026-09-10", THURSDAY, "club", "practice"]));
        let told = ["events", "both_feet", "left_foot", "right_foot", "left_leg", "right_leg", "loaded", "hands", "throws"];
        assert_eq!(json!(told.map(|field| &second[field])), json!([163, 61, 51, 51, 112, 112, 15, 24, 80]));
        // From Tuesday 19:00 to Thursday 17:30.
        assert_eq!((&first["hours_since_last_jumps"], &second["hours_since_last_jumps"]), (&Value::Null, &json!(46.5)));
        let over = |by: f64, limit: f64| json!({ "limit": limit, "beyond_by": by, "outcome": "certain", "reason": null,
            "enabled": false, "source_note": "club choice" });
        assert_eq!(second["landing_contacts"], over(63.0, 100.0));
        assert_eq!(second["jump_gap"], over(1.5, 48.0));
        let within = &first["landing_contacts"];
        assert_eq!((&within["beyond_by"], &within["outcome"]), (&json!(-60.0), &json!("not_raised")));
        let none_before = &first["jump_gap"];
        assert_eq!((&none_before["beyond_by"], &none_before["outcome"], &none_before["reason"]),
            (&Value::Null, &json!("not_computable"), &json!("nothing_before")));
        // What was counted on Thursday alone is not known of Tuesday.
        assert_eq!((&first["loaded"], &first["hands"], &first["throws"]), (&Value::Null, &Value::Null, &Value::Null));
        let totals = told.map(|field| &found["totals"][field]);
        assert_eq!(json!(totals), json!([203, 101, 51, 51, 152, 152, 15, 24, 80]));
        for said in ["nobody counted are not known", "trained adults", "youths start lower", "predicts no injury"] {
            assert!(found.string("note").contains(said), "{said}");
        }
        let before_policy = club.as_role("coach").get(format!("athletes/{}/contacts", athlete.id()));
        let later = before_policy.query("from", "2026-09-11").query("to", "2026-09-13").await.expect(200);
        assert_eq!((&later["sessions"], &later["totals"]["events"], &later["sessions_not_counted"]), (&json!([]), &Value::Null, &json!(1)));
    }

    async fn the_last_jumps_are_told_where_they_lie_before(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        policy_on_jumps(&club).await;
        let tuesday = session(&athlete, TUESDAY).await;
        let (thursday, saturday) = (session(&athlete, THURSDAY).await, session(&athlete, SATURDAY).await);
        count(&club, &tuesday, jumps(40)).await;
        // Thrown without a jump, and a session in which nobody looked at landings.
        count(&club, &thursday, json!({ "landings": { "both_feet": 0, "left_foot": 0, "right_foot": 0 }, "basis": "estimated" })).await;
        let throws = json!({ "throws": 60, "basis": "counted" });
        let counted = count(&club, &saturday, throws).await;
        assert_eq!((&counted["landings"], &counted["events"], &counted["left_leg"]), (&Value::Null, &Value::Null, &Value::Null));
        let coach = club.as_role("coach");
        let read = coach.get(format!("athletes/{}/contacts", athlete.id())).query("from", "2026-09-10").await.expect(200);
        let sessions = read["sessions"].as_array().expect("sessions");
        // From Tuesday 19:00 on: 46.5 hours to Thursday, 87 to Saturday 10:00. Thursday had no jumps.
        assert_eq!(json!(sessions.iter().map(|one| &one["hours_since_last_jumps"]).collect::<Vec<_>>()), json!([46.5, 87.0]));
        assert_eq!((&sessions[0]["jump_gap"], &sessions[0]["landing_contacts"]["beyond_by"]), (&Value::Null, &json!(-100.0)));
        for rule in ["landing_contacts", "jump_gap"] {
            let told = &sessions[1][rule];
            assert_eq!((&told["outcome"], &told["reason"]), (&json!("not_computable"), &json!("not_counted")), "{rule}");
        }
        assert_eq!(read["sessions_not_counted"], 0);
    }

    async fn put_creates_leaves_replaces_and_takes_back(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let path = session(&athlete, THURSDAY).await;
        let app = club.as_role("integration");
        let put = |counts: Value| app.put(&path, counts);
        app.get(&path).await.expect_problem(404, "not_found");
        app.delete(&path).if_match("*").await.expect_problem(404, "not_found");
        put(handball()).if_match("*").await.expect_problem(412, "precondition_failed");
        assert_eq!(put(handball()).dry_run().await.expect(201)["events"], 163);
        app.get(&path).await.expect_problem(404, "not_found");

        let made = put(handball()).await.expect(201);
        assert!(made.header("location").is_some_and(|location| location.ends_with(&path)));
        assert_eq!((app.get(&path).await.expect(200).body, made.etag()), (made.body.clone(), "\"1\""));
        assert_eq!(put(handball()).await.expect(200).body, made.body);
        put(jumps(401)).await.expect_problem(428, "precondition_required");
        put(jumps(401)).if_match("\"2\"").await.expect_problem(412, "precondition_failed");
        let tried = put(jumps(401)).if_match("\"1\"").dry_run().await.expect(200);
        assert_eq!((&tried["version"], &tried["warnings"]), (&json!(2), &json!(["many_landings"])));
        assert_eq!(app.get(&path).await.expect(200).body, made.body, "a trial changes nothing");
        let changed = put(jumps(400)).if_match("\"1\"").await.expect(200);
        assert_eq!((&changed["version"], &changed["throws"], &changed["warnings"]), (&json!(2), &Value::Null, &json!([])));

        app.delete(&path).await.expect_problem(428, "precondition_required");
        app.delete(&path).if_match("\"1\"").await.expect_problem(412, "precondition_failed");
        app.delete(&path).if_match("\"2\"").dry_run().await.expect(204);
        app.delete(&path).if_match("\"2\"").await.expect(204);
        app.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(figures(&club, &athlete).await["sessions_not_counted"], 1);
        let again = put(handball()).await.expect(201);
        assert_eq!(again["version"], 4, "after two versions and a tombstone");
    }

    async fn a_report_takes_its_counts_along(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let path = session(&athlete, THURSDAY).await;
        count(&club, &path, handball()).await;
        let app = club.as_role("integration");
        let (report, _) = path.rsplit_once('/').expect("a report");
        let body = app.get(report).await.expect(200);
        app.delete(report).if_match("*").body("application/json", r#"{"reason": "entered twice"}"#).await.expect(204);
        app.get(&path).await.expect_problem(404, "not_found");
        app.put(&path, handball()).await.expect_problem(404, "not_found");
        let gone = figures(&club, &athlete).await;
        assert_eq!((&gone["sessions"], &gone["sessions_not_counted"]), (&json!([]), &json!(0)));
        let changes = app.get("changes").query("limit", 500).await.expect(200);
        let last = changes["items"].as_array().and_then(|items| items.last()).expect("a change");
        assert_eq!((&last["kind"], &last["deleted"]), (&json!("session_contacts"), &json!(true)));
        assert!(last["href"].as_str().is_some_and(|href| href.ends_with(&path)), "{last}");
        // Entered again it is a session that nobody has counted.
        let mut again = json!({});
        for field in ["external_id", "athlete_id", "started_at", "minutes", "rpe", "setting", "kind", "basis", "given_at", "given_by"] {
            again[field] = body[field].clone();
        }
        app.put(report, again).await.expect(201);
        app.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(figures(&club, &athlete).await["sessions_not_counted"], 1);
    }

    async fn what_cannot_be_is_refused_with_every_fault(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let path = session(&athlete, THURSDAY).await;
        let app = club.as_role("integration");
        for (pointer, value, code, allowed) in [
            ("/landings/both_feet", json!(1001), "out_of_range", "whole number from 0 to 1000"),
            ("/landings/left_foot", json!(-1), "out_of_range", "whole number from 0 to 1000"),
            ("/landings/right_foot", json!(0.5), "out_of_range", "whole number from 0 to 1000"),
            ("/landings/right_foot", Value::Null, "missing_field", "whole number from 0 to 1000"),
            ("/landings/loaded", json!(164), "out_of_range", "whole number from 0 to 163, the landings on feet"),
            ("/landings/hands", json!(1001), "out_of_range", "whole number from 0 to 1000"),
            ("/throws", json!(1001), "out_of_range", "whole number from 0 to 1000"),
            ("/basis", json!("guessed"), "unknown_value", "counted, estimated"),
            ("/basis", Value::Null, "missing_field", "counted, estimated"),
        ] {
            let mut body = handball();
            *body.pointer_mut(pointer).expect("a field") = value.clone();
            let refused = app.put(&path, body).await.expect_problem(422, "invalid");
            let fault = &refused["errors"][0];
            assert_eq!((&fault["pointer"], &fault["code"], &fault["allowed"]), (&json!(pointer), &json!(code), &json!(allowed)));
            assert!(value.is_null() || fault["given"] == value, "{fault}");
            assert_eq!(refused["errors"].as_array().map(Vec::len), Some(1), "{}", refused.text());
        }
        let nothing = app.put(&path, json!({ "basis": "counted", "landings": null })).await.expect_problem(422, "invalid");
        assert_eq!((&nothing["errors"][0]["pointer"], &nothing["errors"][0]["code"]), (&json!("/landings"), &json!("missing_field")));
        let several = app.put(&path, json!({ "landings": { "both_feet": 1001 }, "throws": -1 })).await.expect_problem(422, "invalid");
        let pointers = several["errors"].as_array().expect("faults").iter().map(|fault| fault["pointer"].as_str().expect("a pointer"));
        assert_eq!(pointers.collect::<Vec<_>>(),
            ["/landings/both_feet", "/landings/left_foot", "/landings/right_foot", "/throws", "/basis"]);
        let unknown = app.put(&path, json!({ "throws": 1, "basis": "counted", "jumps": 2 })).await.expect_problem(422, "invalid");
        assert_eq!(unknown["errors"][0]["code"], "unknown_field");
        app.get(&path).await.expect_problem(404, "not_found");
        app.put(format!("sessions/{}/contacts", e2e::FREE_ID), handball()).await.expect_problem(404, "not_found");

        let read = |name: &str, value: &str| club.as_role("coach").get(format!("athletes/{}/contacts", athlete.id())).query(name, value);
        let ahead = read("to", "2026-09-14").await.expect_problem(422, "invalid");
        assert_eq!((&ahead["errors"][0]["pointer"], &ahead["errors"][0]["code"]), (&json!("?to"), &json!("in_future")));
        let long = read("from", "2020-01-01").await.expect_problem(400, "bad_query");
        assert_eq!(long["errors"][0]["code"], "range_too_long");
    }

    async fn who_may_write_reports_counts_and_who_sees_loads_reads(database: Database) {
        let (server, club, squad, athlete) = start(database).await;
        policy_on_jumps(&club).await;
        let path = session(&athlete, THURSDAY).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let made = guardian.put(&path, handball()).await.expect(201);
        let changed = athlete.as_caller().put(&path, jumps(163)).if_match(made.etag()).await.expect(200);
        for role in ["integration", "athletic_trainer"] {
            assert_eq!(club.as_role(role).get(&path).await.expect(200).body, changed.body, "{role}");
        }
        club.as_role("athletic_trainer").put(&path, handball()).await.expect_problem(403, "role_may_not");
        for role in ["coach", "strength_coach", "club_admin", "privacy_lead"] {
            let caller = club.as_role(role);
            caller.get(&path).await.expect_problem(403, "role_may_not");
            caller.put(&path, handball()).await.expect_problem(403, "role_may_not");
            caller.delete(&path).if_match("*").await.expect_problem(403, "role_may_not");
        }
        let other_squad = club.squad("U14").await;
        let other = other_squad.athlete("P-30").await;
        let stranger = club.as_guardian_of(&[&other]);
        stranger.get(&path).await.expect_problem(404, "not_found");
        stranger.put(&path, handball()).await.expect_problem(404, "not_found");
        stranger.delete(&path).if_match("*").await.expect_problem(404, "not_found");
        let foreign = server.club("Fjordby Handball").await;
        foreign.as_role("integration").put(&path, handball()).await.expect_problem(404, "not_found");

        let read = format!("athletes/{}/contacts", athlete.id());
        club.as_coach_of(&[&other_squad]).get(&read).await.expect_problem(404, "not_found");
        stranger.get(&read).await.expect_problem(404, "not_found");
        club.as_role("club_admin").get(&read).await.expect_problem(403, "role_may_not");
        foreign.as_role("coach").get(&read).await.expect_problem(404, "not_found");
        let coach = club.as_coach_of(&[&squad]).get(&read).await.expect(200);
        assert_eq!(coach["sessions"][0]["landing_contacts"]["beyond_by"], 63.0);
        let lead = club.as_role("privacy_lead");
        let known = lead.get("audit").query("limit", 500).await.expect(200)["items"].as_array().map(Vec::len);
        for family in [&guardian, &athlete.as_caller()] {
            let read = family.get(&read).await.expect(200);
            let one = &read["sessions"][0];
            assert_eq!((&one["events"], &one["landing_contacts"], &one["jump_gap"]), (&json!(163), &Value::Null, &Value::Null));
            assert!(!read.text().contains("100.0") && !read.text().contains("source_note"), "{}", read.text());
        }
        let audit = lead.get("audit").query("limit", 500).await.expect(200);
        let rows = audit["items"].as_array().expect("rows");
        assert_eq!(Some(rows.len()), known.map(|known| known + 2));
        for row in &rows[rows.len() - 2..] {
            assert_eq!((&row["action"], &row["athlete_id"]), (&json!("read_contacts"), &json!(athlete.id())));
        }
    }

    async fn two_reports_of_a_session_are_counted_once(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let own = session(&athlete, THURSDAY).await;
        let watch = club.client(e2e::Identity::role("integration").client("watch-app"));
        let second = athlete.session("2026-09-10T17:35:00+02:00", 85, 6.0).into_body();
        let second = watch.post("sessions", second).await.expect(201);
        assert_eq!(second["warnings"], json!(["proposed_duplicate"]));
        count(&club, &format!("sessions/{}/contacts", second.string("session_id")), handball()).await;
        let found = figures(&club, &athlete).await;
        assert_eq!((&found["sessions"][0]["session_id"], &found["totals"]["events"]), (&second["session_id"], &json!(163)));
        assert_eq!(found["sessions_not_counted"], 0, "one of its reports has the counts");
        count(&club, &own, jumps(40)).await;
        let found = figures(&club, &athlete).await;
        assert_eq!(found["sessions"].as_array().map(Vec::len), Some(1), "{}", found.text());
    }

    async fn what_was_known_then_is_read_back(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let (tuesday, thursday) = (session(&athlete, TUESDAY).await, session(&athlete, THURSDAY).await);
        count(&club, &tuesday, jumps(40)).await;
        count(&club, &thursday, jumps(10)).await;
        let then = figures(&club, &athlete).await;
        assert_eq!((&then["sessions"][1]["hours_since_last_jumps"], &then["totals"]["events"]), (&json!(46.5), &json!(50)));
        let app = club.as_role("integration");
        app.put(&thursday, handball()).if_match("*").await.expect(200);
        let (report, _) = tuesday.rsplit_once('/').expect("a report");
        app.delete(report).if_match("*").body("application/json", r#"{"reason": "entered twice"}"#).await.expect(204);
        let now = figures(&club, &athlete).await;
        assert_eq!((&now["sessions"][0]["hours_since_last_jumps"], &now["totals"]["events"]), (&Value::Null, &json!(163)));
        let read = club.as_role("coach").get(format!("athletes/{}/contacts", athlete.id()));
        assert_eq!(read.query("as_of", then.string("as_of")).await.expect(200).text(), then.text());
        let read = club.as_role("coach").get(format!("athletes/{}/contacts", athlete.id()));
        let alone = read.query("from", "2026-09-09").query("as_of", then.string("as_of")).await.expect(200);
        assert_eq!(alone["sessions"][0]["hours_since_last_jumps"], 46.5, "from before the dates, as known then");
    }

    async fn a_history_says_whether_jumps_and_throws_are_back(database: Database) {
        let server = Server::setup(database).clock("2026-12-07T07:00:00+01:00").start().await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U18").await.athlete("P-31").with("joined_on", "2026-09-07").await;
        let before = reported(&club, &athlete, "2026-09-07", &[2100.0, 2300.0, 2200.0, 2400.0]).await;
        let after = reported(&club, &athlete, "2026-11-09", &[900.0, 1500.0, 1750.0, 2000.0]).await;
        let away = json!({ "athlete_id": athlete.id(), "from": "2026-10-05", "to": "2026-11-08", "category": "not_available" });
        club.as_guardian_of(&[&athlete]).post("absences", away).await.expect(201);

        let none = history(&club, &athlete).await;
        for part in [jumps_of(&none), throws_of(&none)] {
            assert_none(&part["share_pct"], "not_counted");
            let not_counted = json!({ "mean": null, "at_least": true, "sessions_not_counted": 4 });
            assert_eq!((&part["before_count_week"], &part["now_count_week"]), (&not_counted, &not_counted));
            assert_eq!((&part["before_au_week"], &part["now_au_week"]), (&Value::Null, &Value::Null));
        }
        let all = &none["share_of_pre_absence"][0];
        assert_exact(&all["share_pct"], "68.33");
        assert_eq!((&all["before_count_week"], &all["now_count_week"]), (&Value::Null, &Value::Null));

        // 163 + 120 + 163 + 154 are 600 in four weeks, 150 a week; 60 + 75 are 135, 33.75 a week at least.
        for (path, landings) in before.iter().zip([163, 120, 163, 154]) {
            count(&club, path, with_throws(landings, 50)).await;
        }
        for (path, landings) in after.iter().zip([60, 75]) {
            count(&club, path, with_throws(landings, 20)).await;
        }
        let partly = history(&club, &athlete).await;
        let back = jumps_of(&partly);
        assert_none(&back["share_pct"], "partly_counted");
        assert_eq!(back["before_count_week"], json!({ "mean": 150.0, "at_least": false, "sessions_not_counted": 0 }));
        assert_eq!(back["now_count_week"], json!({ "mean": 33.75, "at_least": true, "sessions_not_counted": 2 }));
        let (page, file) = (represented(&club, &athlete, &partly, "text/html").await, represented(&club, &athlete, &partly, "text/csv").await);
        assert_same_history(&partly.body, &page, &file);
        assert!(page.contains("at least 33.75 counted; 2 sessions not counted"), "{page}");

        // With 90 and 75 more they are 300 in four weeks, 75 a week: half. Throws were 50 a week and are 20, and of the last nobody says.
        count(&club, &after[2], with_throws(90, 20)).await;
        count(&club, &after[3], jumps(75)).await;
        let complete = history(&club, &athlete).await;
        let back = jumps_of(&complete);
        assert_exact(&back["share_pct"], "50");
        assert_eq!(back["now_count_week"], json!({ "mean": 75.0, "at_least": false, "sessions_not_counted": 0 }));
        let throws = throws_of(&complete);
        assert_none(&throws["share_pct"], "partly_counted");
        assert_eq!(throws["now_count_week"], json!({ "mean": 15.0, "at_least": true, "sessions_not_counted": 1 }));
        assert_exact(&complete["share_of_pre_absence"][0]["share_pct"], "68.33");

        // Counts as known then, and sessions as known then.
        club.as_role("integration").put(&after[0], jumps(0)).if_match("*").await.expect(200);
        let (report, _) = after[1].rsplit_once('/').expect("a report");
        let removal = club.as_role("integration").delete(report).if_match("*");
        removal.body("application/json", r#"{"reason": "entered twice"}"#).await.expect(204);
        // 90 + 75 are 165 in four weeks, 41.25 a week of 150.
        assert_exact(&jumps_of(&history(&club, &athlete).await)["share_pct"], "27.5");
        for earlier in [&none, &partly, &complete] {
            let trainer = club.as_role("athletic_trainer");
            let then = trainer.get(format!("athletes/{}/history", athlete.id())).query("purpose", "history_before_clearance");
            assert_eq!(then.query("as_of", earlier.string("as_of")).await.expect(200).text(), earlier.text());
        }
    }
}

/// Reports one session a week of these loads from a Monday on; answers where their counts stand, the first one first.
async fn reported(club: &Club, athlete: &Athlete, first: &str, loads: &[f64]) -> Vec<String> {
    let sent = club.bulk(athlete.weeks(first, loads)).await.expect(200);
    let results = sent["results"].as_array().expect("results");
    assert_eq!(results.len(), loads.len(), "{}", sent.text());
    let path = |result: &Value| {
        let id = result["session_id"].as_str().expect("an id");
        format!("sessions/{id}/contacts")
    };
    results.iter().map(path).collect()
}

fn with_throws(both_feet: u32, throws: u32) -> Value {
    let mut counts = jumps(both_feet);
    counts["throws"] = json!(throws);
    counts
}

async fn history(club: &Club, athlete: &Athlete) -> Answer {
    let trainer = club.as_role("athletic_trainer");
    let history = trainer.get(format!("athletes/{}/history", athlete.id()));
    let history = history.query("purpose", "history_before_clearance");
    history.await.expect(200)
}

/// The same history in another form.
async fn represented(club: &Club, athlete: &Athlete, history: &Answer, form: &str) -> String {
    let trainer = club.as_role("athletic_trainer");
    let read = trainer
        .get(format!("athletes/{}/history", athlete.id()))
        .query("purpose", "history_before_clearance")
        .query("as_of", history.string("as_of"))
        .header("Accept", form);
    read.await.expect(200).text()
}

fn jumps_of(history: &Answer) -> &Value {
    part(history, "jumps")
}

fn throws_of(history: &Answer) -> &Value {
    part(history, "throws")
}

fn part<'a>(history: &'a Answer, name: &str) -> &'a Value {
    let parts = history["share_of_pre_absence"].as_array().expect("parts");
    let found = parts.iter().find(|part| part["part"] == name);
    found.unwrap_or_else(|| panic!("no {name}: {}", history.text()))
}
