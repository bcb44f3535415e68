//! Questions about plans: who may ask, what is refused and how, what is entered in the audit list, and that nothing is stored.

use e2e::{Athlete, Client, Club, Database, Server, Squad, on_both_databases};
use serde_json::{Value, json};

/// A club with a policy, and an athlete with six weeks of 1000 AU up to Sunday 8 November 2026.
async fn club(database: Database) -> (Server, Club, Squad, Athlete) {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("U18").await;
    let athlete = squad.athlete("P-21").with("joined_on", "2026-09-28").await;
    let weeks = athlete.weeks("2026-09-28", &[1000.0; 6]);
    club.bulk(weeks).await.expect(200);
    (server, club, squad, athlete)
}

fn session() -> Value {
    json!({ "date": "2026-11-12", "setting": "club", "kind": "practice", "minutes": 90, "intended_rpe": 6 })
}

fn plan(sessions: Value) -> Value {
    json!({ "first_week": "2026-W46", "weeks": 1, "sessions": sessions })
}

fn typed(plan: Value) -> Value {
    json!({ "plan": plan, "history": { "week_loads_au": [1000, 1000, 1000, 1000] } })
}

/// A good question with one part of it changed.
fn with(pointer: &str, value: Value) -> Value {
    let mut body = typed(plan(json!([session()])));
    match body.pointer_mut(pointer) {
        Some(part) => *part = value,
        None => {
            let (parent, name) = pointer.rsplit_once('/').expect("a pointer");
            body.pointer_mut(parent).expect("a parent")[name] = value;
        }
    }
    body
}

/// Asserts that both questions refuse a body in one field, and say what is allowed there.
async fn assert_refused(coach: &Client, body: Value, (pointer, code): (&str, &str)) {
    for path in ["plan-checks", "change-proposals"] {
        let answer = coach
            .post(path, body.clone())
            .await
            .expect_problem(422, "invalid");
        let error = &answer["errors"][0];
        assert_eq!(
            (&error["pointer"], &error["code"]),
            (&json!(pointer), &json!(code)),
            "{path}: {}",
            answer.text()
        );
        assert!(error["allowed"].is_string(), "{path}: {}", answer.text());
    }
}

on_both_databases! {
    async fn a_plan_that_cannot_be_is_refused_by_field(database: Database) {
        let (_server, club, _, _) = club(database).await;
        let coach = club.as_role("coach");
        let out = "out_of_range";
        for (pointer, value, code) in [
            ("/plan/weeks", json!(61), out),
            ("/plan/weeks", json!(0), out),
            ("/plan/weeks", json!(1.5), out),
            ("/plan/first_week", json!("2026-W54"), "invalid_week"),
            ("/plan/first_week", json!("1999-W01"), out),
            ("/plan/sessions/0/minutes", json!(0), "minutes_out_of_range"),
            ("/plan/sessions/0/minutes", json!(601), "minutes_out_of_range"),
            ("/plan/sessions/0/intended_rpe", json!(10.5), "rpe_out_of_range"),
            ("/plan/sessions/0/intended_rpe", json!(5.3), "rpe_step"),
            ("/plan/sessions/0/setting", json!("gym"), "unknown_value"),
            ("/plan/sessions/0/kind", json!("yoga"), "unknown_value"),
            ("/plan/sessions/0/start", json!("25:00"), "invalid_time"),
            ("/plan/sessions/0/date", json!("2026-02-30"), "invalid_date"),
            ("/plan/sessions/0/date", json!("2026-11-16"), out),
            ("/plan/sessions/0/date", Value::Null, "missing_field"),
            ("/plan/sessions/0/least_minutes", json!(0), "minutes_out_of_range"),
            ("/limit", json!({ "ratio_kind": "coupled", "limit": 4 }), "limit_out_of_range"),
            ("/limit", json!({ "ratio_kind": "coupled", "limit": 7 }), "limit_out_of_range"),
            ("/limit", json!({ "ratio_kind": "both", "limit": 1.5 }), "unknown_value"),
            ("/history/week_loads_au/2", Value::Null, "history_hole"),
            ("/history/week_loads_au/2", json!(-1), out),
            ("/history/week_loads_au/2", json!(0.3), out),
            ("/history/week_loads_au/2", json!(105_000.5), out),
            ("/as_of", json!("yesterday"), "invalid_instant"),
            ("/as_of", json!("2126-01-01T00:00:00Z"), "in_future"),
        ] {
            let at = match pointer {
                "/limit" if code == "unknown_value" => "/limit/ratio_kind",
                "/limit" => "/limit/limit",
                _ => pointer,
            };
            assert_refused(&coach, with(pointer, value), (at, code)).await;
        }
    }

    async fn a_history_is_named_once_and_has_no_holes(database: Database) {
        let (_server, club, squad, athlete) = club(database).await;
        let coach = club.as_role("coach");
        let mut none = typed(plan(json!([session()])));
        none.as_object_mut().expect("an object").remove("history");
        assert_refused(&coach, none, ("/history", "missing_field")).await;
        assert_refused(&coach, with("/athlete_id", json!(athlete.id())), ("/athlete_id", "ambiguous_history")).await;
        let both = with("/squad_id", json!(squad.id()));
        let answer = coach.post("plan-checks", both).await.expect_problem(422, "invalid");
        assert_eq!((&answer["errors"][0]["pointer"], &answer["errors"][0]["code"]), (&json!("/squad_id"), &json!("ambiguous_history")));
        assert_refused(&coach, with("/history", json!({})), ("/history/week_loads_au", "missing_field")).await;
        let twice = json!({ "week_loads_au": [500], "day_loads_au": [100] });
        assert_refused(&coach, with("/history", twice), ("/history/day_loads_au", "ambiguous_history")).await;
        let hole = json!({ "day_loads_au": [100, 0, null, 50] });
        assert_refused(&coach, with("/history", hole), ("/history/day_loads_au/2", "history_hole")).await;
        let long = json!({ "day_loads_au": vec![1; 183] });
        assert_refused(&coach, with("/history", long), ("/history/day_loads_au", "out_of_range")).await;
        let twice = json!([{ "date": "2026-11-12", "weekday": "monday", "in_weeks": [1], "setting": "club", "kind": "practice",
            "minutes": 90, "intended_rpe": 6 }]);
        assert_refused(&coach, with("/plan/sessions", twice), ("/plan/sessions/0/date", "ambiguous_day")).await;
        let late = json!([{ "weekday": "monday", "in_weeks": [1, 2], "setting": "club", "kind": "practice", "minutes": 90,
            "intended_rpe": 6 }]);
        assert_refused(&coach, with("/plan/sessions", late), ("/plan/sessions/0/in_weeks/1", "out_of_range")).await;
        let mut long = session();
        long["minutes"] = json!(600);
        let full = with("/plan/sessions", json!([long, long, long]));
        assert_refused(&coach, full, ("/plan/sessions/2", "day_full")).await;
        // All faults at once.
        let answer = coach.post("plan-checks", json!({ "plan": { "first_week": "W1", "weeks": 99, "sessions": [{}] } })).await;
        let answer = answer.expect_problem(422, "invalid");
        let pointers: Vec<&str> = answer["errors"].as_array().expect("errors").iter().filter_map(|error| error["pointer"].as_str()).collect();
        for expected in ["/plan/first_week", "/plan/sessions/0/setting", "/plan/sessions/0/minutes", "/history"] {
            assert!(pointers.contains(&expected), "{expected}: {}", answer.text());
        }
    }

    async fn landings_and_warm_ups_of_single_sessions_are_summed_and_judged(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let coach = club.as_role("strength_coach");
        let mut rules = e2e::example_rules();
        for (code, limit) in [("neuromuscular_dose", 30), ("landing_contacts", 40), ("jump_gap", 48)] {
            let rule = json!({ "code": code, "enabled": false, "limit": limit, "source_note": "club choice" });
            rules.as_array_mut().expect("rules").push(rule);
        }
        club.example_policy().with("rules", rules).await;
        for (field, value, at, code) in [
            ("landings", json!({ "both_feet": 10 }), "landings/left_foot", "missing_field"),
            ("landings", json!({ "both_feet": 10, "left_foot": 0, "right_foot": 0, "loaded": 11 }), "landings/loaded", "out_of_range"),
            ("warm_up", json!({}), "warm_up/minutes", "missing_field"),
            ("warm_up", json!({ "minutes": 91, "categories": [], "feedback": true }), "warm_up/minutes", "out_of_range"),
            ("warm_up", json!({ "minutes": 15, "categories": ["jumps"], "feedback": true }), "warm_up/categories/0", "unknown_value"),
            ("warm_up", json!({ "minutes": 0, "categories": ["jump"] }), "warm_up/categories", "out_of_range"),
        ] {
            let body = with(&format!("/plan/sessions/0/{field}"), value);
            assert_refused(&coach, body, (&format!("/plan/sessions/0/{at}"), code)).await;
        }

        let silent = coach.post("plan-checks", typed(plan(json!([session()])))).await.expect(200);
        let week = &silent["items"][0]["weeks"][0];
        assert_eq!((&week["landings"], &week["warm_up"]), (&Value::Null, &Value::Null), "nobody said anything");
        let says = |date: &str, minutes: u32, categories: Value| {
            let mut says = session();
            says["date"] = json!(date);
            says["landings"] = json!({ "both_feet": 20, "left_foot": 5, "right_foot": 6, "hands": 4 });
            says["warm_up"] = json!({ "minutes": minutes, "categories": categories, "feedback": true });
            says
        };
        let check = |sessions: Value| {
            let coach = coach.clone();
            async move { coach.post("plan-checks", typed(plan(sessions))).await.expect(200)["items"][0].clone() }
        };
        let two = [says("2026-11-10", 15, json!(["jump"])), says("2026-11-13", 15, json!(["balance", "agility"]))];
        let met = check(json!(two)).await;
        let landings = json!({ "events": 62, "left_leg": 50, "right_leg": 52, "loaded": 0, "hands": 8, "at_least": false, "sessions_not_said": 0 });
        assert_eq!(met["weeks"][0]["landings"], landings);
        let warm_up = &met["weeks"][0]["warm_up"];
        assert_eq!(warm_up["planned"], json!({ "sessions": 2, "minutes": 30, "categories": ["jump", "agility", "balance"], "feedback": true }));
        assert_eq!((&warm_up["against"]["outcome"], &warm_up["against"]["met"]["all_parts"]), (&json!("not_raised"), &json!("yes")));

        // One session short: for sure where nothing else is planned, possibly beside a session that says nothing.
        let broken = |check: &Value| {
            let rules = check["weeks"][0]["rules_broken"].as_array().expect("rules").clone();
            rules.into_iter().find(|rule| rule["rule"] == "neuromuscular_dose").map(|rule| rule["certainty"].clone())
        };
        let one = check(json!([two[0]])).await;
        assert_eq!((broken(&met), broken(&one)), (None, Some(json!("certain"))));
        let said = "neuromuscular warm-up short by 1 session, 15 minutes, 2 categories";
        assert!(one["sentences"][0].as_str().expect("a text").contains(said), "{one}");
        let beside = check(json!([two[0], session()])).await;
        assert_eq!(broken(&beside), Some(json!("possible")));
        assert_eq!(beside["weeks"][0]["warm_up"]["sessions_not_said"], 1);
        // Of a week that says nothing while another says something nothing is known, not even that it may be short.
        let mut later = session();
        later["date"] = json!("2026-11-19");
        let mut of_two_weeks = typed(plan(json!([two[0], two[1], later])));
        of_two_weeks["plan"]["weeks"] = json!(2);
        let mixed = coach.post("plan-checks", of_two_weeks).await.expect(200)["items"][0].clone();
        let quiet = &mixed["weeks"][1];
        assert_eq!((&quiet["warm_up"]["against"]["outcome"], &quiet["warm_up"]["against"]["reason"]), (&json!("not_computable"), &json!("nothing_said")));
        assert_eq!((broken(&json!({ "weeks": [quiet] })), &quiet["warm_up"]["sessions_not_said"]), (None, &json!(1)));
        for rule in ["neuromuscular dose", "landing contacts", "jump gap"] {
            let told = format!("The rule on {rule} cannot be judged in 2026-W47 (nothing said)");
            assert!(mixed["sentences"].to_string().contains(&told), "{told}: {mixed}");
        }
        assert_eq!((&quiet["landings"]["events"], &quiet["landings"]["sessions_not_said"]), (&json!(0), &json!(1)));
        let page = coach.post("plan-checks", typed(plan(json!([two[0], session()])))).header("Accept", "text/html").await.expect(200);
        for told in ["Planned warm-up", "1 of 15 min", "with feedback", "1 session not said", "by what is not said"] {
            assert!(page.text().contains(told), "{told}: {}", page.text());
        }
    }

    async fn as_pdf_where_the_program_was_built_with_it(database: Database) {
        let (_server, club, _, _) = club(database).await;
        let coach = club.as_role("coach");
        let post = |body: Value| coach.post("plan-checks", body).header("Accept", "application/pdf");
        let mut body = typed(plan(json!([session()])));
        let sheet = post(body.clone()).await;
        if sheet.status == 200 {
            assert_eq!(sheet.header("content-type"), Some("application/pdf"));
        } else {
            let refused = sheet.expect_problem(406, "not_acceptable");
            assert!(refused.string("detail").contains("built without PDF"), "{refused:?}");
        }
        body["paper"] = json!("a5");
        let refused = coach.post("plan-checks", body).await.expect_problem(422, "invalid");
        assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!("/paper"), &json!("unknown_value")));
    }

    async fn what_is_asked_of_a_proposal_is_checked(database: Database) {
        let (_server, club, _, _) = club(database).await;
        let coach = club.as_role("coach");
        for (field, value, pointer, code) in [
            ("week", json!("2026-W47"), "/week", "out_of_range"),
            ("week", json!("W46"), "/week", "invalid_week"),
            ("from", json!("2026-11-12"), "/week", "missing_field"),
            ("build_up", json!({}), "/build_up/from_age", "missing_field"),
            ("build_up", json!({ "from_age": 4 }), "/build_up/from_age", "out_of_range"),
            ("move_within_days", json!(15), "/move_within_days", "out_of_range"),
            ("move_within_days", json!(0), "/move_within_days", "out_of_range"),
        ] {
            let body = with(&format!("/{field}"), value);
            let answer = coach.post("change-proposals", body).await.expect_problem(422, "invalid");
            let error = &answer["errors"][0];
            assert_eq!((&error["pointer"], &error["code"]), (&json!(pointer), &json!(code)), "{}", answer.text());
        }
        let stranger = _server.club("Fjordby Handball").await;
        let body = typed(plan(json!([session()])));
        let answer = stranger.as_role("coach").post("change-proposals", body).await.expect_problem(422, "invalid");
        assert_eq!((&answer["errors"][0]["pointer"], &answer["errors"][0]["code"]), (&json!("/limit"), &json!("missing_field")));
    }

    async fn coaches_ask_for_their_own_squads_and_nobody_else_does(database: Database) {
        let (_server, club, squad, athlete) = club(database).await;
        let body = json!({ "plan": plan(json!([session()])), "athlete_id": athlete.id() });
        let far = club.squad("U14").await;
        for path in ["plan-checks", "change-proposals"] {
            for family in [athlete.as_caller(), club.as_guardian_of(&[&athlete])] {
                family.post(path, body.clone()).await.expect_problem(403, "role_may_not");
            }
            for role in ["club_admin", "integration", "athletic_trainer", "privacy_lead"] {
                club.as_role(role).post(path, body.clone()).await.expect_problem(403, "role_may_not");
            }
            let stranger = club.as_coach_of(&[&far]);
            let answer = stranger.post(path, body.clone()).await.expect_problem(422, "invalid");
            assert_eq!((&answer["errors"][0]["pointer"], &answer["errors"][0]["code"]), (&json!("/athlete_id"), &json!("unknown_person")));
            club.as_coach_of(&[&squad]).post(path, body.clone()).await.expect(200);
        }
        let body = json!({ "plan": plan(json!([session()])), "squad_id": squad.id() });
        let answer = club.as_coach_of(&[&far]).post("plan-checks", body).await.expect_problem(422, "invalid");
        assert_eq!((&answer["errors"][0]["pointer"], &answer["errors"][0]["code"]), (&json!("/squad_id"), &json!("unknown_squad")));
    }

    async fn whose_history_was_read_is_in_the_audit_list_and_nothing_else_is_kept(database: Database) {
        let (_server, club, squad, athlete) = club(database).await;
        let coach = club.as_coach_of(&[&squad]);
        let counted = async |action: &str| {
            let audit = club.as_role("privacy_lead").get("audit").await.expect(200);
            audit.text().matches(action).count()
        };
        let flags = coach.get("flags").await.expect(200).text();
        coach.post("plan-checks", typed(plan(json!([session()])))).await.expect(200);
        assert_eq!(counted("check_plan").await, 0, "a typed history is nobody's");
        let body = json!({ "plan": plan(json!([session()])), "athlete_id": athlete.id() });
        coach.post("plan-checks", body.clone()).await.expect(200);
        assert_eq!(counted("check_plan").await, 1);
        let second = squad.athlete("P-22").await;
        let of_squad = json!({ "plan": plan(json!([session()])), "squad_id": squad.id() });
        let found = coach.post("plan-checks", of_squad.clone()).await.expect(200);
        let mut shown: Vec<&str> = found["items"].as_array().expect("checks").iter().filter_map(|one| one["athlete_id"].as_str()).collect();
        shown.sort_unstable();
        let mut expected = [athlete.id(), second.id()];
        expected.sort_unstable();
        assert_eq!(shown, expected);
        assert_eq!(counted("check_plan").await, 3);
        coach.post("plan-checks", of_squad).header("Accept", "application/x-ndjson").await.expect(200);
        assert_eq!(counted("check_plan").await, 5);
        coach.post("change-proposals", body).await.expect(200);
        assert_eq!(counted("propose_changes").await, 1);
        assert_eq!(coach.get("flags").await.expect(200).text(), flags, "nobody is alerted");
        coach.post("plan-checks", typed(plan(json!([])))).header("Accept", "image/png").await.expect_problem(406, "not_acceptable");
    }

    async fn what_is_left_of_the_running_week_counts_as_planned(database: Database) {
        let (_server, club, squad, athlete) = club(database).await;
        let coach = club.as_coach_of(&[&squad]);
        // Monday morning of 2026-W46; the plan begins a week later. 500 AU are planned before it.
        let practice = json!({
            "setting": "club", "kind": "practice", "starts_at": "2026-11-11T17:30:00+01:00", "minutes": 100, "intended_rpe": 5,
            "squads": [squad.id()],
        });
        club.as_role("integration").post("events", practice).await.expect(201);
        let mut later = session();
        later["date"] = json!("2026-11-19");
        let mut body = json!({ "plan": { "first_week": "2026-W47", "weeks": 1, "sessions": [later] }, "athlete_id": athlete.id() });
        let found = coach.post("plan-checks", body.clone()).await.expect(200);
        let check = &found["items"][0];
        assert_eq!(check["logged_until"], "2026-11-09");
        assert_eq!(check["weeks"][0]["prior_21d_au"], json!({ "point": 2500.0, "low": 2500.0, "high": 2500.0, "reason": null }));
        // 0.6 x 2500.
        assert_eq!(check["weeks"][0]["limit_au"]["point"], 1500.0);
        body["plan"]["first_week"] = json!("2026-W48");
        body["plan"]["sessions"] = json!([]);
        let answer = coach.post("plan-checks", body).await.expect_problem(422, "invalid");
        let error = &answer["errors"][0];
        assert_eq!((&error["pointer"], &error["code"]), (&json!("/plan/first_week"), &json!("in_future")));
        assert_eq!(error["allowed"], "2026-W47 or earlier");
    }

    async fn a_check_is_also_a_page_with_the_same_sentences_and_digits(database: Database) {
        let (_server, club, squad, _) = club(database).await;
        let coach = club.as_coach_of(&[&squad]);
        let mut hard = session();
        hard["minutes"] = json!(400);
        let body = json!({ "plan": plan(json!([hard])), "squad_id": squad.id() });
        let found = coach.post("plan-checks", body.clone()).await.expect(200);
        let page = coach.post("plan-checks", body).header("Accept", "text/html").await.expect(200);
        assert_eq!(page.header("content-type"), Some("text/html; charset=utf-8"));
        let (check, text) = (&found["items"][0], page.text());
        let week = &check["weeks"][0];
        assert_eq!((&week["load_au"], &week["limit_au"]["point"]), (&json!(2400.0), &json!(1800.0)));
        for said in check["sentences"].as_array().expect("sentences") {
            assert!(text.contains(said.as_str().expect("a sentence")), "{said}: {text}");
        }
        for part in ["P-21", "2026-W46", "<svg", "no target", "does not predict", "2400", "1800", "600", "week end ratio (certain)"] {
            assert!(text.contains(part), "{part}: {text}");
        }
        assert!(!text.contains("<script"), "{text}");
    }

    async fn an_earlier_state_of_knowledge_stays_as_it_was(database: Database) {
        let (_server, club, squad, athlete) = club(database).await;
        let coach = club.as_coach_of(&[&squad]);
        let mut body = json!({ "plan": plan(json!([session()])), "athlete_id": athlete.id() });
        let before = coach.post("plan-checks", body.clone()).await.expect(200);
        body["as_of"] = before["items"][0]["as_of"].clone();
        athlete.session("2026-11-06T17:30:00+01:00", 90, 8.0).await;
        let then = coach.post("plan-checks", body.clone()).await.expect(200);
        assert_eq!(then.text(), before.text());
        body.as_object_mut().expect("an object").remove("as_of");
        let now = coach.post("plan-checks", body).await.expect(200);
        assert_eq!(now["items"][0]["weeks"][0]["prior_21d_au"]["point"], 3720.0);
    }
}
