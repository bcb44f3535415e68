//! Programmes: from a coach's table to an athlete's sheet, and what they come to.

use e2e::{
    Answer, Athlete, Client, Club, Database, Identity, Server, Squad, example_rules,
    on_both_databases,
};
use serde_json::{Value, json};

const SQUADS: &str = "0199a1b2-7c3d-7e4f-8a5b-520000000001";
const OWN: &str = "0199a1b2-7c3d-7e4f-8a5b-520000000002";
/// Where the shortest and the usual half-year ends: common practice, no source.
const WEEKS: usize = 26;

const HEADER: &str = "programme,block,week,day,session,session_name,setting,kind,start,minutes,intended_rpe,warm_up_minutes,\
    warm_up_categories,warm_up_feedback,order,exercise,sets,reps,\
    hold_seconds,seconds,distance,distance_unit,returns_to_start,side,load,load_unit,band,rest_seconds,set_up_from,set_up_to,\
    set_up_unit,height_from,height_to,height_unit,note\n";

/// Two sessions a week, the fourth week of a block off; loaded jumps from the third block on.
fn table() -> String {
    let mut text = HEADER.to_owned();
    for week in 1..=WEEKS {
        let head = format!("Half a year,Block {},{week}", 1 + (week - 1) / 4);
        if week % 4 == 0 {
            text += &format!("{head}{}\n", ",".repeat(32));
            continue;
        }
        let jumps = match week {
            9.. => "squat_jump_loaded,3,5,,,,,,,10,lb",
            _ => "block_jump,3,5,,,,,,,,",
        };
        for (day, start) in [("tuesday", "18:00"), ("thursday", "17:30")] {
            let session =
                format!("{head},{day},1,Legs,prescribed_home,strength,{start},60,5.5,10,,true");
            text += &format!(
                "{session},1,squat,3,10,1{},\"Down slowly, then up\"\n",
                ",".repeat(15)
            );
            text += &format!("{session},2,{jumps},,,6,12,in,30,,cm,\n");
            text += &format!(
                "{session},3,loaded_carry,2,,,,forward 20; back 20; right 10; left 10,yd,true,,12.5,kg,,60{}\n",
                ",".repeat(7)
            );
        }
    }
    text
}

async fn start(database: Database) -> (Server, Club, Squad, Athlete) {
    let server = Server::setup(database)
        .clock("2026-06-03T08:00:00+02:00")
        .start()
        .await;
    let club = server.club("Havneby Handball").await;
    let mut rules = example_rules();
    for (code, limit) in [("landing_contacts", 14), ("jump_gap", 48)] {
        let rule =
            json!({ "code": code, "enabled": false, "limit": limit, "source_note": "club choice" });
        rules.as_array_mut().expect("rules").push(rule);
    }
    club.example_policy().with("rules", rules).await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("P-07").await;
    (server, club, squad, athlete)
}

fn sheet(athlete: &Athlete) -> String {
    format!("athletes/{}/programme", athlete.id())
}

async fn as_table(caller: &Client, path: &str) -> Answer {
    caller
        .get(path)
        .header("Accept", "text/csv")
        .await
        .expect(200)
}

/// Where, and which, of each fault of a refusal.
fn faults(refused: &Answer) -> Vec<(String, String)> {
    let errors = refused["errors"].as_array().expect("errors").iter();
    let of = |error: &Value, field: &str| error[field].as_str().expect("a text").to_owned();
    errors
        .map(|error| (of(error, "pointer"), of(error, "code")))
        .collect()
}

fn at(pointer: &str, code: &str) -> Vec<(String, String)> {
    vec![(pointer.to_owned(), code.to_owned())]
}

on_both_databases! {
    async fn a_coachs_table_goes_in_and_comes_back_and_reaches_the_athlete(database: Database) {
        let (_server, club, squad, athlete) = start(database).await;
        let coach = club.as_role("strength_coach");
        let text = table();
        let send = |text: &str| coach.post("programmes", json!({})).body("text/csv", text);

        // A slip is told by line and column, and nothing is stored.
        let slip = text.replacen(",2,block_jump,3,5,", ",2,block_hop,3,5,", 1);
        let refused = send(&slip).await.expect_problem(422, "invalid");
        assert_eq!(faults(&refused), at("/rows/2/exercise", "unknown_exercise"));
        assert!(refused["errors"][0]["detail"].as_str().is_some_and(|said| said.starts_with("Line 3: ")), "{}", refused.text());
        send(&text).dry_run().await.expect(201);
        assert_eq!(coach.get("programmes").await.expect(200)["items"], json!([]));

        let made = send(&text).idempotency_key("half-year").await.expect(201);
        assert_eq!((&made["weeks"], &made["days"], &made["without_effort"]), (&json!(26), &json!(182), &json!(0)));
        let first = &made["blocks"][0]["weeks"][0]["days"][0]["sessions"][0];
        assert_eq!(first["load_au"], 330.0);
        let [squat, jump, carry] = [0, 1, 2].map(|item| &first["items"][item]);
        assert_eq!((&squat["work_seconds"], &squat["note"]), (&json!(30), &json!("Down slowly, then up")));
        assert_eq!(jump["note"], Value::Null);
        assert_eq!(jump["set_up_m"], json!({ "least": 0.1524, "most": 0.3048 }));
        assert_eq!((&jump["height"], &carry["load_kg"]), (&json!({ "least": 30, "unit": "cm" }), &json!(12.5)));
        // Two rounds of 60 yd.
        assert_eq!(carry["distance_m"], 109.728);
        let late = &made["blocks"][2]["weeks"][0]["days"][0]["sessions"][0]["items"][1];
        assert_eq!((&late["load"], &late["load_kg"]), (&json!({ "amount": 10, "unit": "lb" }), &json!(4.535_923_7)));

        // Out again byte for byte, and in again without a change; as JSON it is the same.
        let path = format!("programmes/{}", made.string("programme_id"));
        let out = as_table(&coach, &path).await;
        assert_eq!(out.text(), text);
        assert_eq!(out.header("etag"), Some("\"1\""));
        let again = coach.put(&path, json!({})).body("text/csv", out.text()).await.expect(200);
        assert_eq!(again["version"], 1);
        let shorter = text.replace(",60,5.5,", ",50,5.5,");
        let put = || coach.put(&path, json!({})).body("text/csv", shorter.clone());
        put().await.expect_problem(428, "precondition_required");
        assert_eq!(put().if_match("\"1\"").await.expect(200)["version"], 2);
        assert_eq!(as_table(&coach, &path).await.text(), shorter);
        assert_eq!(as_table(&coach, &format!("{path}?version=1")).await.text(), text);
        coach.get(format!("{path}?version=3")).await.expect_problem(404, "not_found");
        let listed = club.as_role("club_admin").get("programmes").await.expect(200);
        assert_eq!((&listed["items"][0]["name"], &listed["items"][0]["version"]), (&json!("Half a year"), &json!(2)));

        // The squad does the first version; who is not in it does nothing.
        let squads = format!("{path}/assignments/{SQUADS}");
        let body = json!({ "squad_id": squad.id(), "from": "2026-06-01", "programme_version": 1 });
        let assigned = coach.put(&squads, body.clone()).await.expect(201);
        assert_eq!((&assigned["until"], &assigned["programme_version"]), (&json!("2026-11-29"), &json!(1)));
        coach.put(&squads, body).await.expect(200);
        let week = athlete.as_caller().get(sheet(&athlete)).query("from", "2026-06-01").await.expect(200);
        let sessions = week["sessions"].as_array().expect("sessions");
        let dates: Vec<&Value> = sessions.iter().map(|one| &one["date"]).collect();
        assert_eq!(dates, ["2026-06-02", "2026-06-04"]);
        assert_eq!((&sessions[0]["session"]["minutes"], &sessions[0]["week"]), (&json!(60), &json!(1)));
        let marks: Vec<&Value> = sessions[0]["items"].as_array().expect("items").iter().map(|one| &one["not_signed_off"]).collect();
        assert_eq!(marks, [&json!([]), &json!(["block_jump"]), &json!(["hip_hinge"])]);
        let other = club.squad("U18").await.athlete("P-20").await;
        let none = coach.get(sheet(&other)).await.expect(200);
        assert_eq!((&none["sessions"], &none["from"], &none["to"]), (&json!([]), &json!("2026-06-03"), &json!("2026-06-09")));
        athlete.as_caller().get(sheet(&other)).await.expect_problem(404, "not_found");
        athlete.as_caller().get(&path).await.expect_problem(403, "role_may_not");
        let far = club.client(Identity::role("coach").squad("0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"));
        far.get(&squads).await.expect_problem(404, "not_found");
        assert_eq!(far.get(format!("{path}/assignments")).await.expect(200)["items"], json!([]));
        coach.delete(&path).if_match("*").await.expect_problem(409, "programme_assigned");

        // What she signed off is marked no more.
        let signed = |number: u32, code: &'static str| {
            let id = format!("athletes/{}/sign-offs/0199a1b2-7c3d-7e4f-8a5b-{number:012}", athlete.id());
            let body = json!({ "exercise": code, "signed_on": "2026-06-02", "seen_in_person": true });
            let put = coach.put(id, body);
            async move { put.await.expect(201) }
        };
        for (number, code) in ["squat", "step_off_landing_both_feet", "block_jump", "hip_hinge"].into_iter().enumerate() {
            signed(u32::try_from(number).expect("few"), code).await;
        }
        let guardian = club.as_guardian_of(&[&athlete]);
        let seen = guardian.get(sheet(&athlete)).query("from", "2026-06-01").query("to", "2026-08-02").await.expect(200);
        let marked = |session: &Value| {
            let items = session["items"].as_array().expect("items").iter();
            items.flat_map(|item| item["not_signed_off"].as_array().expect("a list").clone()).collect::<Vec<_>>()
        };
        let sessions = seen["sessions"].as_array().expect("sessions");
        assert_eq!((sessions.len(), marked(&sessions[0])), (14, Vec::new()));
        assert_eq!(marked(&sessions[12]), ["squat_jump_loaded"]);
        let readers = guardian.get(format!("athletes/{}/readers", athlete.id())).await.expect(200);
        assert_eq!(readers["items"][0]["action"], "read_assigned_programme");

        // Harder than it was meant: 420 AU for 330. The club's own practice is no matter of the programme.
        athlete.session("2026-06-02T18:00:00+02:00", 60, 7.0).with("setting", "prescribed_home").with("kind", "strength").await;
        athlete.session("2026-06-02T20:00:00+02:00", 90, 6.0).await;
        let followed = format!("{}/adherence", sheet(&athlete));
        let found = coach.get(&followed).query("from", "2026-06-01").await.expect(200);
        let all = &found["all"];
        assert_eq!((&all["planned_sessions"], &all["done_sessions"]["low"], &all["extra_sessions"]), (&json!(1), &json!(1), &json!(0)));
        assert_eq!((&all["planned_au"], &all["done_au"]["point"], &all["load_pct"]["point"]), (&json!(330.0), &json!(420.0), &json!(127.27)));
        assert_eq!((&found["by_kind"][0]["kind"], &found["effort"]["sessions"]), (&json!("strength"), &json!(1)));
        assert_eq!(guardian.get(&followed).await.expect(200)["effort"], Value::Null);
    }

    async fn an_athlete_has_changes_of_her_own_and_no_loaded_jump_before_its_sign_off(database: Database) {
        let (_server, club, squad, athlete) = start(database).await;
        let coach = club.as_role("strength_coach");
        let made = coach.post("programmes", json!({})).body("text/csv", table()).await.expect(201);
        let path = format!("programmes/{}", made.string("programme_id"));
        let body = json!({ "squad_id": squad.id(), "from": "2026-06-01" });
        coach.put(format!("{path}/assignments/{SQUADS}"), body).await.expect(201);
        let own = format!("{path}/assignments/{OWN}");
        let assign = |body: Value| coach.put(&own, body);
        let hers = |changes: Value| json!({ "athlete_id": athlete.id(), "from": "2026-06-01", "changes": changes });

        let refused = assign(hers(json!([]))).await.expect_problem(422, "invalid");
        assert_eq!(faults(&refused), at("/changes", "load_not_signed_off"));
        let said = refused["errors"][0]["detail"].as_str().expect("a text");
        assert!(said.starts_with("Week 9, tuesday, session 1, item 2: Squat jump with a load"), "{said}");
        let change = |week: u32, day: &str, item: u32, change: Value| {
            let mut body = json!({ "week": week, "day": day, "item": item });
            body.as_object_mut().expect("an object").extend(change.as_object().expect("an object").clone());
            body
        };
        let until_then = |changes: Value| {
            let mut body = hers(changes);
            body["until"] = json!("2026-07-19");
            body
        };
        for (body, pointer, code) in [
            (json!({ "from": "2026-06-01" }), "/squad_id", "missing_field"),
            (json!({ "from": "2026-06-01", "squad_id": squad.id(), "athlete_id": athlete.id() }), "/athlete_id", "ambiguous_assignee"),
            (json!({ "from": "2026-06-01", "athlete_id": e2e::FREE_ID }), "/athlete_id", "unknown_person"),
            (json!({ "from": "2026-06-01", "squad_id": squad.id() }), "/from", "not_unique"),
            (json!({ "from": "2026-06-02", "squad_id": squad.id() }), "/from", "out_of_range"),
            (json!({ "from": "2026-12-07", "squad_id": squad.id(), "until": "2027-06-07" }), "/until", "out_of_range"),
            (json!({ "from": "2026-12-07", "squad_id": squad.id(), "programme_version": 2 }), "/programme_version", "out_of_range"),
            (json!({ "from": "2026-12-07", "squad_id": squad.id(), "changes": [change(1, "tuesday", 1, json!({ "change": "omit" }))] }),
                "/changes", "out_of_range"),
            (hers(json!([change(1, "monday", 1, json!({ "change": "omit" }))])), "/changes/0/item", "out_of_range"),
            (hers(json!([change(1, "tuesday", 1, json!({ "change": "drop" }))])), "/changes/0/change", "unknown_value"),
            (hers(json!([change(1, "tuesday", 1, json!({ "change": "alter", "with": { "sets": 11 } }))])), "/changes/0/with/sets",
                "out_of_range"),
            (hers(json!([change(1, "tuesday", 2, json!({ "change": "replace", "with": { "exercise": "squat", "sets": 3 } }))])),
                "/changes/0/with/reps", "missing_field"),
            // A note would be about her, and what is different for her is not sealed.
            (hers(json!([change(1, "tuesday", 1, json!({ "change": "alter", "with": { "note": "Mind the left knee" } }))])),
                "/changes/0/with/note", "unknown_value"),
        ] {
            let refused = assign(body).await.expect_problem(422, "invalid");
            assert_eq!(faults(&refused)[..1], at(pointer, code), "{}", refused.text());
        }

        // Every loaded jump left out, she does it by herself; hers goes before the squad's, until it ends.
        let loaded = (9..=WEEKS).filter(|week| week % 4 != 0);
        let loaded = loaded.flat_map(|week| ["tuesday", "thursday"].map(|day| (u32::try_from(week).expect("few"), day)));
        let mut changes: Vec<Value> = loaded.map(|(week, day)| change(week, day, 2, json!({ "change": "omit" }))).collect();
        changes.push(change(1, "tuesday", 1, json!({ "change": "alter", "with": { "sets": 2, "seconds": 20 } })));
        changes.push(change(1, "tuesday", 3, json!({ "change": "replace", "with": { "exercise": "side_plank", "sets": 2, "seconds": 20,
            "side": "left" } })));
        let done = assign(until_then(json!(changes))).await.expect(201);
        // What is left out for her may hint at why: a program that follows the club is not told.
        let program = club.as_role("integration");
        let told = program.get(&own).await.expect(200);
        assert_eq!((told["athlete_id"].clone(), told["changes"].clone()), (json!(athlete.id()), json!([])));
        let kept = done["changes"].as_array().expect("changes");
        assert_eq!(kept[kept.len() - 2]["with"], json!({ "exercise": "squat", "sets": 2, "seconds": 20, "note": "Down slowly, then up" }));
        let sheet = athlete.as_caller().get(sheet(&athlete)).query("from", "2026-06-01").query("to", "2026-08-02").await.expect(200);
        let sessions = sheet["sessions"].as_array().expect("sessions");
        let first = sessions[0]["items"].as_array().expect("items");
        let told: Vec<Value> = first.iter().map(|item| json!([item["item"]["number"], item["item"]["exercise"], item["changed"]])).collect();
        assert_eq!(told, [json!([1, "squat", true]), json!([2, "block_jump", false]), json!([3, "side_plank", true])]);
        assert_eq!((&sessions[0]["assignment_id"], &sessions[0]["session"]["items"]), (&json!(OWN), &json!([])));
        // Her own ends on 19 July; from then on it is the squad's again.
        let last = sessions.last().expect("sessions");
        assert_eq!((&last["date"], &last["assignment_id"], last["items"].as_array().map(Vec::len)), (&json!("2026-07-30"), &json!(SQUADS), Some(3)));

        // Put back as it was answered it changes nothing.
        let mut back = until_then(done["changes"].clone());
        back["programme_version"] = json!(1);
        assert_eq!(assign(back).await.expect(200)["version"], 1);
        coach.delete(&own).if_match("\"1\"").await.expect(204);
        coach.get(&own).await.expect_problem(404, "not_found");
        coach.delete(format!("{path}/assignments/{SQUADS}")).if_match("*").await.expect(204);
        coach.delete(&path).if_match("*").await.expect(204);
        coach.get(&path).await.expect_problem(404, "not_found");
    }

    async fn its_landings_and_its_load_are_checked_before_it_is_done(database: Database) {
        let (_server, club, _squad, athlete) = start(database).await;
        let coach = club.as_role("strength_coach");
        let made = coach.post("programmes", json!({})).body("text/csv", table()).await.expect(201);
        let programme = json!({ "programme_id": made.string("programme_id"), "version": 1 });

        let found = coach.post("contact-checks", json!({ "programme": programme })).await.expect(200);
        let of = &found["programme"];
        // 20 weeks of two sessions with 15 landings on both feet.
        assert_eq!((&found["events"], &found["at_least"], &found["items"]), (&json!(600), &json!(false), &json!([])));
        let weeks = of["weeks"].as_array().expect("weeks");
        assert_eq!((weeks.len(), &weeks[0]["events"], &weeks[0]["loaded"], &weeks[19]["loaded"]), (20, &json!(30), &json!(0), &json!(30)));
        let [first, second] = [0, 1].map(|at| &of["sessions"][at]);
        assert_eq!((&first["events"], &first["distance_m"], &first["hours_since_last_jumps"]), (&json!(15), &json!(109.728), &Value::Null));
        assert_eq!(first["landing_contacts"]["beyond_by"], 1.0);
        assert_eq!(first["jump_gap"]["reason"], "nothing_before");
        // From 19:00 on Tuesday to 17:30 on Thursday.
        assert_eq!(second["hours_since_last_jumps"], json!({ "least": 46.5, "most": 46.5 }));
        assert_eq!((&second["jump_gap"]["outcome"], &second["jump_gap"]["beyond_by"]), (&json!("certain"), &json!(1.5)));
        let mut for_her = json!({ "programme": programme, "athlete_id": athlete.id() });
        let refused = coach.post("contact-checks", for_her.clone()).await.expect_problem(422, "invalid");
        assert_eq!(faults(&refused), at("/programme", "load_not_signed_off"));
        for_her["items"] = json!([]);
        let both = coach.post("contact-checks", for_her).await.expect_problem(422, "invalid");
        assert_eq!(faults(&both), at("/programme", "ambiguous_plan"));

        // With a game on top, after 330 AU a week: each week of the programme is planned at 660.
        let game = json!({ "date": "2026-06-06", "setting": "club", "kind": "game", "minutes": 60, "intended_rpe": 8 });
        let plan = json!({ "first_week": "2026-W23", "programme": programme, "calendar": [game] });
        let asked = json!({ "plan": plan, "history": { "week_loads_au": [330, 330, 330, 330] } });
        let checked = coach.post("plan-checks", asked.clone()).await.expect(200);
        let check = &checked["items"][0];
        let weeks = check["weeks"].as_array().expect("weeks");
        assert_eq!((weeks.len(), &check["total_au"]), (26, &json!(20.0 * 660.0 + 480.0)));
        assert_eq!((&weeks[0]["load_au"], &weeks[0]["limit_au"]["point"]), (&json!(1140.0), &json!(594.0)));
        let landings = json!({ "events": 30, "left_leg": 30, "right_leg": 30, "loaded": 0, "hands": 0, "at_least": false,
            "sessions_not_said": 1 });
        assert_eq!((&weeks[0]["landings"], &weeks[3]["landings"]["events"]), (&landings, &json!(0)));
        // 15 landings a session where 14 may be, 46.5 h from Tuesday to Thursday where 48 should be; nothing is known of before the plan.
        let rule = |week: usize, code: &str| {
            let broken = weeks[week]["rules_broken"].as_array().expect("rules").iter();
            broken.clone().find(|one| one["rule"] == code).cloned().unwrap_or_default()
        };
        let [contacts, gap] = ["landing_contacts", "jump_gap"].map(|code| rule(0, code));
        assert_eq!((&contacts["certainty"], &contacts["limit_landings"], &contacts["limit_gap_hours"]), (&json!("certain"), &json!(14.0), &Value::Null));
        let tuesday = json!({ "date": "2026-06-02", "certainty": "certain", "landings": 15, "at_least": false, "hours_since_last_jumps": null });
        let thursday = json!({ "date": "2026-06-04", "certainty": "certain", "landings": 15, "at_least": false,
            "hours_since_last_jumps": { "least": 46.5, "most": 46.5 } });
        assert_eq!(contacts["sessions"], json!([tuesday, thursday]));
        assert_eq!((&gap["limit_gap_hours"], &gap["limit_landings"], &gap["sessions"]), (&json!(48.0), &Value::Null, &json!([thursday])));
        assert_eq!((rule(3, "landing_contacts"), rule(3, "jump_gap")), (Value::Null, Value::Null));
        let said = check["sentences"][0].as_str().expect("a sentence");
        for part in ["15 landings on 2026-06-02, above the limit of 14 a session (one of 2 such sessions)",
            "on 2026-06-04 only 46.5 h after the last jumps, where 48 should be"] {
            assert!(said.contains(part), "{part}: {said}");
        }
        let page = coach.post("plan-checks", asked.clone()).header("Accept", "text/html").await.expect(200);
        for part in ["landing contacts (certain)", "jump gap (certain)", "46.5 h after the last jumps"] {
            assert!(page.text().contains(part), "{part}: {}", page.text());
        }
        assert!(page.text().contains("Planned landings") && page.text().contains("Planned warm-up"), "{}", page.text());
        // Two of ten minutes that hold what their items are; the game says nothing. The week off has no session.
        let warm_up = &weeks[0]["warm_up"];
        let planned = json!({ "sessions": 2, "minutes": 20, "categories": ["strength", "jump"], "feedback": true });
        assert_eq!((&warm_up["planned"], &warm_up["sessions_not_said"]), (&planned, &json!(1)));
        assert_eq!(weeks[3]["warm_up"]["planned"], json!({ "sessions": 0, "minutes": 0, "categories": [], "feedback": false }));
        coach.post("change-proposals", asked).await.expect(200);
        let refused = |plan: Value| {
            let body = json!({ "plan": plan, "history": { "week_loads_au": [] } });
            let post = coach.post("plan-checks", body);
            async move { faults(&post.await.expect_problem(422, "invalid")) }
        };
        let short = json!({ "first_week": "2026-W23", "weeks": 25, "programme": programme });
        assert_eq!(refused(short).await, at("/plan/weeks", "out_of_range"));
        let unknown = json!({ "first_week": "2026-W23", "programme": { "programme_id": e2e::FREE_ID } });
        assert_eq!(refused(unknown).await, at("/plan/programme/programme_id", "unknown_programme"));
        let none = json!({ "first_week": "2026-W23", "weeks": 2 });
        assert_eq!(refused(none).await, at("/plan/sessions", "missing_field"));

        // What nobody said is not known, and nothing is taken for it.
        let open = format!("{HEADER}Open,One,1,monday,1,,club,practice,,,,,,,1,squat,3,10{}\n", ",".repeat(17));
        let open = coach.post("programmes", json!({})).body("text/csv", open).await.expect(201);
        assert_eq!(open["without_effort"], 1);
        let plan = json!({ "first_week": "2026-W23", "programme": { "programme_id": open.string("programme_id") } });
        assert_eq!(refused(plan).await, at("/plan/programme", "effort_not_known"));
    }

    async fn a_squads_check_has_each_athletes_own_history_and_changes(database: Database) {
        let (server, club, squad, athlete) = start(database).await;
        let other = squad.athlete("P-12").await;
        club.bulk(other.weeks("2026-05-04", &[400.0; 4])).await.expect(200);
        let coach = club.as_role("strength_coach");
        let made = coach.post("programmes", json!({})).body("text/csv", table()).await.expect(201);
        let id = made.string("programme_id");
        let omit = |week: usize, day: &str| json!({ "week": week, "day": day, "item": 2, "change": "omit" });
        // Every jump of the first three weeks left out: what is left are squats and carries.
        let omitted = (1..=3).flat_map(|week| ["tuesday", "thursday"].map(|day| omit(week, day)));
        let mut changes: Vec<Value> = omitted.collect();
        let loaded = (9..=WEEKS).filter(|week| week % 4 != 0).flat_map(|week| ["tuesday", "thursday"].map(|day| (week, day)));
        changes.extend(loaded.map(|(week, day)| omit(week, day)));
        let count = changes.len();
        let body = json!({ "athlete_id": athlete.id(), "from": "2026-06-08", "changes": changes });
        coach.put(format!("programmes/{id}/assignments/{OWN}"), body).await.expect(201);

        let plan = json!({ "first_week": "2026-W24", "programme": { "programme_id": id } });
        let asked = json!({ "plan": plan, "squad_id": squad.id() });
        let lines = coach.post("plan-checks", asked.clone()).header("Accept", "application/x-ndjson").await.expect(200);
        let checks: Vec<Value> = lines.text().lines().map(|line| serde_json::from_str(line).expect("a check a line")).collect();
        let of = |athlete: &Athlete| checks.iter().find(|check| check["athlete_id"] == athlete.id()).expect("her check");
        let (hers, others) = (of(&athlete), of(&other));
        assert_eq!((checks.len(), &hers["individual_changes"], &others["individual_changes"]), (2, &json!(count), &json!(0)));
        let landings = |check: &Value| json!([check["weeks"][0]["landings"]["events"], check["weeks"][4]["landings"]["events"]]);
        assert_eq!((landings(hers), landings(others)), (json!([0, 30]), json!([30, 30])));
        let holds = |check: &Value| check["weeks"][0]["warm_up"]["planned"]["categories"].clone();
        assert_eq!((holds(hers), holds(others)), (json!(["strength"]), json!(["strength", "jump"])));
        // The load is the same, the history each one's own.
        assert_eq!(hers["weeks"][0]["load_au"], others["weeks"][0]["load_au"]);
        let prior = |check: &Value| check["weeks"][0]["prior_21d_au"]["point"].clone();
        assert_eq!((prior(hers), prior(others)), (json!(0.0), json!(800.0)));

        // Her own have no jumps in the first week, and so none that are too many or too soon.
        let breaks = |check: &Value, week: usize| -> Vec<String> {
            let broken = check["weeks"][week]["rules_broken"].as_array().expect("rules").iter();
            let rules = broken.filter_map(|one| one["rule"].as_str()).map(str::to_owned);
            rules.filter(|rule| ["landing_contacts", "jump_gap"].contains(&rule.as_str())).collect()
        };
        assert_eq!((breaks(hers, 0), breaks(others, 0)), (vec![], vec!["landing_contacts".to_owned(), "jump_gap".to_owned()]));
        assert_eq!(breaks(hers, 4), breaks(others, 4));

        // In another version of the programme the changes have no place; as of before the assignment there are none.
        let shorter = table().replace(",60,5.5,", ",50,5.5,");
        coach.put(format!("programmes/{id}"), json!({})).body("text/csv", shorter).if_match("*").await.expect(200);
        let now = coach.post("plan-checks", asked.clone()).await.expect(200);
        assert!(now["items"].as_array().expect("checks").iter().all(|check| check["individual_changes"] == 0), "{}", now.text());
        let mut first = asked.clone();
        first["plan"]["programme"]["version"] = json!(1);
        let page = coach.post("plan-checks", first).header("Accept", "text/html").await.expect(200);
        assert!(page.text().contains(&format!("{count} items of the programme are other for her.")), "{}", page.text());
        drop(server);
    }

    async fn a_check_and_adherence_as_of_an_instant_go_by_what_stood_then(database: Database) {
        let (mut server, club, squad, athlete) = start(database).await;
        let coach = club.as_role("strength_coach");
        let made = coach.post("programmes", json!({})).body("text/csv", table()).await.expect(201);
        let id = made.string("programme_id");
        let squads = format!("programmes/{id}/assignments/{SQUADS}");
        coach.put(&squads, json!({ "squad_id": squad.id(), "from": "2026-06-01" })).await.expect(201);
        athlete.session("2026-06-02T18:00:00+02:00", 60, 5.0).await;
        let (before, then) = ("2026-06-03T07:00:00+02:00", "2026-06-03T09:00:00+02:00");
        server.restart_at("2026-06-04T08:00:00+02:00").await;

        let plan = json!({ "first_week": "2026-W24", "programme": { "programme_id": id } });
        let as_of = |instant: &str| json!({ "plan": plan, "squad_id": squad.id(), "as_of": instant });
        let followed = || coach.get(format!("athletes/{}/programme/adherence", athlete.id())).query("from", "2026-06-01").query("to", "2026-06-02");
        let (check, follow) = (coach.post("plan-checks", as_of(then)).await.expect(200), followed().query("as_of", then).await.expect(200));
        assert_eq!((&follow["as_of"], &follow["all"]["planned_sessions"]), (&json!("2026-06-03T07:00:00Z"), &json!(1)));
        assert_eq!(check["items"][0]["weeks"][0]["load_au"], 660.0);

        for (instant, code) in [("2126-01-01T00:00:00Z", "in_future"), ("yesterday", "invalid_instant")] {
            let refused = coach.post("plan-checks", as_of(instant)).await.expect_problem(422, "invalid");
            assert_eq!(faults(&refused), at("/as_of", code));
        }

        // A shorter version, then its removal; nothing is assigned any more.
        let shorter = table().replace(",60,5.5,", ",50,5.5,");
        coach.put(format!("programmes/{id}"), json!({})).body("text/csv", shorter).if_match("*").await.expect(200);
        let now = |body: &Value| { let mut body = body.clone(); body.as_object_mut().expect("an object").remove("as_of"); body };
        let changed = coach.post("plan-checks", now(&as_of(then))).await.expect(200);
        assert_eq!(changed["items"][0]["weeks"][0]["load_au"], 550.0);
        assert_eq!(coach.post("plan-checks", as_of(then)).await.expect(200).text(), check.text());
        let mut later = as_of(then);
        later["plan"]["programme"]["version"] = json!(2);
        let refused = coach.post("plan-checks", later).await.expect_problem(422, "invalid");
        assert_eq!(faults(&refused), at("/plan/programme/version", "out_of_range"));
        coach.delete(&squads).if_match("*").await.expect(204);
        coach.delete(format!("programmes/{id}")).if_match("*").await.expect(204);
        let gone = coach.post("plan-checks", now(&as_of(then))).await.expect_problem(422, "invalid");
        assert_eq!(faults(&gone), at("/plan/programme/programme_id", "unknown_programme"));
        assert_eq!(followed().await.expect(200)["all"]["planned_sessions"], 0);

        // As of then it is as it was, byte for byte; before it was entered there was none.
        assert_eq!(coach.post("plan-checks", as_of(then)).await.expect(200).text(), check.text());
        assert_eq!(followed().query("as_of", then).await.expect(200).text(), follow.text());
        let none = coach.post("plan-checks", as_of(before)).await.expect_problem(422, "invalid");
        assert_eq!(faults(&none), at("/plan/programme/programme_id", "unknown_programme"));
    }
}
