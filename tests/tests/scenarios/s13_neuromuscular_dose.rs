//! S13: the dose of neuromuscular warm-up of a squad and of one athlete in four weeks before the season.

use crate::*;

/// The weeks from 10 August to 6 September 2026 are over.
const NOW: &str = "2026-09-07T08:00:00+02:00";
const WEEKS: &str = "neuromuscular-dose?from=2026-W33&to=2026-W36";

/// The squad's sessions: when, the minutes of the warm-up, and whether P-24 was there.
const SESSIONS: [(&str, u32, bool); 8] = [
    ("2026-08-10", 15, true),
    ("2026-08-12", 15, false),
    ("2026-08-14", 20, true),
    ("2026-08-17", 20, true),
    ("2026-08-19", 10, true),
    ("2026-08-24", 25, true),
    ("2026-08-31", 12, true),
    ("2026-09-02", 12, false),
];
/// What every warm-up of each week held.
const CATEGORIES: [&[&str]; 4] = [
    &["strength", "balance"],
    &["strength", "jump", "agility"],
    &["strength", "jump", "agility", "balance"],
    &["jump", "balance"],
];

/// The example policy with a least dose of 30 minutes, written down and not switched on.
async fn with_rule(club: &Club) {
    let mut rules = example_rules();
    let rule = json!({ "code": "neuromuscular_dose", "enabled": false, "limit": 30, "source_note": "Example limit for tests" });
    rules.as_array_mut().expect("rules").push(rule);
    club.example_policy().with("rules", rules).await;
}

/// Plans the sessions, enters their warm-ups, and who was there.
async fn season(club: &Club, squad: &Squad, athlete: &Athlete) {
    let coach = club.as_coach_of(&[squad]);
    for (place, (date, minutes, there)) in SESSIONS.into_iter().enumerate() {
        let week = [0, 0, 0, 1, 1, 2, 3, 3][place];
        let event = squad.event(&format!("{date}T17:30:00+02:00"), 90).await;
        let held = json!({ "minutes": minutes, "categories": CATEGORIES[week], "feedback": true });
        let path = format!("events/{}/warm-up", event.string("event_id"));
        coach.put(path, held).await.expect(201);
        let status = if there { "present" } else { "absent" };
        athlete.attendance(&event, status).await.expect(201);
    }
}

/// Sessions and minutes, then what is short of each part, whether the dose and all parts are met.
fn row(week: &Value) -> String {
    let (dose, against) = (&week["warm_ups"], &week["against"]);
    let short = [
        "short_by_sessions",
        "short_by_minutes",
        "short_by_categories",
    ]
    .map(|part| against[part].to_string());
    let met =
        ["dose", "all_parts"].map(|part| against["met"][part].as_str().expect("a word").to_owned());
    format!(
        "{}/{} {} {}",
        dose["sessions"],
        dose["minutes"],
        short.join(" "),
        met.join(" ")
    )
}

fn rows(of: &Value) -> Vec<String> {
    of["weeks"]
        .as_array()
        .expect("weeks")
        .iter()
        .map(row)
        .collect()
}

const OF_SQUAD: [&str; 4] = [
    "3/50 0 0.0 1 yes no",
    "2/30 0 0.0 0 yes yes",
    "1/25 1 5.0 0 no no",
    "2/24 0 6.0 1 no no",
];
const OF_P24: [&str; 4] = [
    "2/35 0 0.0 1 yes no",
    "2/30 0 0.0 0 yes yes",
    "1/25 1 5.0 0 no no",
    "1/12 1 18.0 1 no no",
];

on_both_databases! {
    async fn s13_what_counts_is_where_she_was(database: Database) {
        let (_server, club, squad) = club_with_squad(database, NOW, "U16").await;
        with_rule(&club).await;
        let athlete = squad.athlete("P-24").await;
        season(&club, &squad, &athlete).await;
        // 47 days after the first warm-up.
        squad.event("2026-09-26T12:00:00+02:00", 80).with("kind", "game").await;

        let coach = club.as_coach_of(&[&squad]);
        let path = format!("athletes/{}/{WEEKS}", athlete.id());
        let hers = coach.get(&path).await.expect(200);
        assert_eq!(rows(&hers.body), OF_P24);
        let weeks = hers["weeks"].as_array().expect("weeks");
        let names: Vec<&Value> = weeks.iter().map(|week| &week["week"]).collect();
        assert_eq!(json!(names), json!(["2026-W33", "2026-W34", "2026-W35", "2026-W36"]));
        assert!(weeks.iter().all(|week| week["warm_ups"] == week["at_most"] && week["sessions_not_said"] == 0), "{}", hers.text());
        assert_eq!(weeks[0]["warm_ups"]["categories"], json!(["strength", "balance"]));
        assert_eq!(weeks[3]["against"]["met"],
            json!({ "sessions": "no", "minutes": "no", "categories": "no", "feedback": "yes", "dose": "no", "all_parts": "no" }));
        assert_eq!((&weeks[3]["against"]["outcome"], &weeks[3]["against"]["enabled"]), (&json!("certain"), &json!(false)));
        let season = json!({ "weeks_expected": 4, "weeks_met": 1, "weeks_not_known": 0, "first_warm_up": "2026-08-10",
            "first_game": "2026-09-26", "began_6_weeks_before": true });
        assert_eq!(hers["season"], season);
        assert!(hers.string("note").contains("promise nothing to one person"));

        let squads = coach.get(format!("squads/{}/{WEEKS}", squad.id())).await.expect(200);
        assert_eq!(rows(&squads.body), OF_SQUAD);
        assert_eq!(squads["season"], season);
        let member = &squads["athletes"][0];
        assert_eq!((member["athlete_id"].as_str(), rows(member)), (Some(athlete.id()), OF_P24.map(str::to_owned).to_vec()));

        // The family sees the warm-ups, and no limit to aim at.
        let own = athlete.as_caller().get(&path).await.expect(200);
        assert_eq!((&own["weeks"][0]["warm_ups"]["minutes"], &own["weeks"][0]["against"]), (&json!(35), &Value::Null));
        let told = ["weeks_expected", "weeks_met", "weeks_not_known", "began_6_weeks_before"].map(|field| &own["season"][field]);
        assert_eq!(json!(told), json!([4, null, null, null]));
        let audit = club.as_role("privacy_lead").get("audit").query("limit", 500).await.expect(200);
        let read = audit["items"].as_array().expect("items").iter().filter(|row| row["action"] == "read_neuromuscular_dose");
        assert_eq!(read.count(), 3);
        athlete.as_caller().get(format!("squads/{}/{WEEKS}", squad.id())).await.expect_problem(403, "role_may_not");
    }

    async fn s13_what_nobody_said_is_not_known(database: Database) {
        let (_server, club, squad) = club_with_squad(database, NOW, "U16").await;
        with_rule(&club).await;
        let (athlete, silent, away) = (squad.athlete("P-24").await, squad.athlete("P-25").await, squad.athlete("P-26").await);
        season(&club, &squad, &athlete).await;
        for date in ["2026-08-24", "2026-08-31", "2026-09-02"] {
            away.rest(date).await.expect(201);
        }
        let coach = club.as_coach_of(&[&squad]);
        let of = |athlete: &Athlete| coach.get(format!("athletes/{}/{WEEKS}", athlete.id()));

        // Nobody listed her: at the most all of it, for sure nothing.
        let open = of(&silent).await.expect(200);
        let second = &open["weeks"][1];
        assert_eq!((&second["warm_ups"]["sessions"], &second["at_most"]["minutes"]), (&json!(0), &json!(30)));
        assert_eq!((&second["against"]["met"]["all_parts"], &second["against"]["outcome"]), (&json!("not_known"), &json!("possible")));
        // Not even with all of it: for sure.
        assert_eq!(open["weeks"][2]["against"]["outcome"], "certain");
        let told = ["weeks_expected", "weeks_met", "weeks_not_known", "first_warm_up", "first_game"].map(|field| &open["season"][field]);
        assert_eq!(json!(told), json!([4, 0, 1, null, null]));

        // Rest answers for what was planned: no warm-up was expected, and none is held against her.
        let rested = of(&away).await.expect(200);
        let expected: Vec<&Value> = rested["weeks"].as_array().expect("weeks").iter().map(|week| &week["expected"]).collect();
        assert_eq!((json!(expected), &rested["season"]["weeks_expected"]), (json!([true, true, false, false]), &json!(2)));
        assert_eq!(rested["weeks"][3]["at_most"]["sessions"], 0);
        let against = &rested["weeks"][3]["against"];
        let told = ["outcome", "reason", "short_by_sessions", "short_by_minutes", "short_by_categories", "met"].map(|part| &against[part]);
        assert_eq!(json!(told), json!(["not_computable", "nothing_expected", null, null, null, null]), "nothing was expected of her");

        // A report says that she was there; one who was there in part may have missed the warm-up.
        for date in ["2026-08-17", "2026-08-19"] {
            silent.session(&format!("{date}T17:30:00+02:00"), 90, 6.0).await;
        }
        assert_eq!(row(&of(&silent).await.expect(200)["weeks"][1]), OF_P24[1]);
        let listed = coach.get("events").query("from", "2026-08-17").query("to", "2026-08-17").await.expect(200);
        let event = listed["items"][0]["event_id"].as_str().expect("an id").to_owned();
        let part = json!({ "event_id": event, "athlete_id": silent.id(), "status": "partial", "minutes": 60 });
        club.as_role("integration").post("attendance", part).await.expect(201);
        let found = of(&silent).await.expect(200);
        assert_eq!((&found["weeks"][1]["warm_ups"]["sessions"], &found["weeks"][1]["at_most"]["sessions"]), (&json!(1), &json!(2)));

        // A session of which nobody said whether it had one leaves it open; that it had none decides.
        let extra = squad.event("2026-08-26T17:30:00+02:00", 90).await;
        athlete.attendance(&extra, "present").await.expect(201);
        let third = |found: &Value| (found["weeks"][2]["sessions_not_said"].clone(), found["weeks"][2]["against"]["outcome"].clone());
        assert_eq!(third(&of(&athlete).await.expect(200).body), (json!(1), json!("possible")));
        let path = format!("events/{}/warm-up", extra.string("event_id"));
        coach.put(&path, json!({ "minutes": 0 })).await.expect(201);
        assert_eq!(third(&of(&athlete).await.expect(200).body), (json!(0), json!("certain")));
        // Called off, it counts for nobody.
        coach.delete(&path).if_match("*").await.expect(204);
        let cancelled = coach.patch(format!("events/{}", extra.string("event_id")), json!({ "status": "cancelled" }));
        cancelled.if_match("*").await.expect(200);
        assert_eq!(third(&of(&athlete).await.expect(200).body), (json!(0), json!("certain")));
        // As it was known before all that.
        let then = open.string("as_of");
        let earlier = of(&silent).query("as_of", &then).await.expect(200);
        assert_eq!((&earlier["weeks"], &earlier["season"]), (&open["weeks"], &open["season"]));
    }

    async fn a_warm_up_is_put_left_replaced_and_taken_back(database: Database) {
        let (_server, club, squad) = club_with_squad(database, NOW, "U16").await;
        let other = club.squad("U18").await;
        let event = squad.event("2026-08-17T17:30:00+02:00", 90).await;
        let path = format!("events/{}/warm-up", event.string("event_id"));
        let coach = club.as_coach_of(&[&squad]);
        let held = json!({ "minutes": 15, "categories": ["jump", "balance"], "feedback": true });
        coach.get(&path).await.expect_problem(404, "not_found");
        coach.put(&path, held.clone()).dry_run().await.expect(201);
        coach.get(&path).await.expect_problem(404, "not_found");
        let made = coach.put(&path, held.clone()).await.expect(201);
        assert!(made.header("location").is_some_and(|location| location.ends_with(&path)));
        assert_eq!((&made["minutes"], &made["categories"], &made["version"]), (&json!(15), &held["categories"], &json!(1)));
        assert_eq!(coach.put(&path, held.clone()).await.expect(200).body, made.body);
        let longer = json!({ "minutes": 20, "categories": ["jump"], "feedback": false });
        coach.put(&path, longer.clone()).await.expect_problem(428, "precondition_required");
        assert_eq!(coach.put(&path, longer).if_match("\"1\"").await.expect(200)["version"], 2);
        assert_eq!(coach.get(&path).await.expect(200).etag(), "\"2\"");
        for (body, pointer, code) in [
            (json!({ "minutes": 91, "categories": [], "feedback": true }), "/minutes", "out_of_range"),
            (json!({ "minutes": 15, "feedback": true }), "/categories", "missing_field"),
            (json!({ "minutes": 15, "categories": ["hops"], "feedback": true }), "/categories/0", "unknown_value"),
        ] {
            let refused = coach.put(&path, body).if_match("*").await.expect_problem(422, "invalid");
            assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!(pointer), &json!(code)));
        }
        let stranger = club.as_coach_of(&[&other]);
        stranger.get(&path).await.expect_problem(404, "not_found");
        stranger.put(&path, held.clone()).if_match("*").await.expect_problem(404, "not_found");
        coach.delete(&path).if_match("\"2\"").await.expect(204);
        coach.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(coach.put(&path, held).await.expect(201)["version"], 4);
    }
}
