//! S14: landing contacts of planned items, by feet, legs and hands, their metres, and the time since the last jumps.

use crate::*;

/// The totals belong to three sets of jump throws; with two of them every total is 10 less.
fn session(throws: u32) -> Vec<Value> {
    vec![
        json!({ "exercise": "hurdle_hop_both_feet", "sets": 4, "reps": 5 }),
        json!({ "exercise": "block_jump", "sets": 3, "reps": 6 }),
        json!({ "exercise": "squat_jump_loaded", "sets": 3, "reps": 5 }),
        json!({ "exercise": "standing_long_jump", "sets": 2, "reps": 4 }),
        json!({ "exercise": "jump_throw_one_foot", "sets": throws, "reps": 5 }),
        json!({ "exercise": "hurdle_hop_one_leg", "sets": 2, "reps": 6 }),
        json!({ "exercise": "lateral_bound", "sets": 3, "reps": 8 }),
        json!({ "exercise": "fall_and_roll", "sets": 2, "reps": 6 }),
        json!({ "exercise": "loaded_carry", "sets": 2, "distance": { "legs": [80], "unit": "m" } }),
        json!({ "exercise": "shuttle_run", "sets": 3, "distance": { "legs": [2250, -2250], "unit": "cm", "returns_to_start": true } }),
    ]
}

/// The session without some of its items.
fn without(left_out: &[usize]) -> Value {
    let kept = (0..)
        .zip(session(3))
        .filter(|(at, _)| !left_out.contains(at));
    kept.map(|(_, item)| item).collect()
}

async fn policy(club: &Club) {
    let mut rules = example_rules();
    for (code, limit) in [("landing_contacts", 100), ("jump_gap", 48)] {
        let rule =
            json!({ "code": code, "enabled": false, "limit": limit, "source_note": "club choice" });
        rules.as_array_mut().expect("rules").push(rule);
    }
    club.example_policy().with("rules", rules).await;
}

/// The first fault of a refused item.
async fn refused(coach: &Client, item: Value) -> (String, String) {
    let answer = coach
        .post("contact-checks", json!({ "items": [item] }))
        .await;
    let answer = answer.expect_problem(422, "invalid");
    let of = |field: &str| {
        answer["errors"][0][field]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    };
    (of("pointer"), of("code"))
}

on_both_databases! {
    async fn s14_landings_metres_and_the_gap(database: Database) {
        let (_server, club, squad) = club_with_squad(database, "2026-09-09T12:00:00+02:00", "U16").await;
        policy(&club).await;
        let coach = club.as_coach_of(&[&squad]);
        let check = async |items: Value| coach.post("contact-checks", json!({ "items": items })).await.expect(200);
        let body = json!({ "items": session(3), "starts_at": "2026-09-10T17:30:00+02:00",
            "last_jumps_ended_at": "2026-09-08T19:00:00+02:00" });
        let found = coach.post("contact-checks", body).await.expect(200);
        let told = ["both_feet", "one_foot", "events", "left_leg", "right_leg", "loaded", "hands"].map(|field| found[field].clone());
        assert_eq!(told, [61, 102, 163, 112, 112, 15, 24].map(Value::from));
        assert_eq!((&found["at_least"], &found["distance_m"], &found["distance_at_least"]), (&json!(false), &json!(295.0), &json!(false)));
        let rule = &found["landing_contacts"];
        assert_eq!((&rule["beyond_by"], &rule["outcome"]), (&json!(63.0), &json!("certain")));
        let gap = &found["jump_gap"];
        assert_eq!((&found["hours_since_last_jumps"], &gap["beyond_by"], &gap["outcome"]), (&json!(46.5), &json!(1.5), &json!("certain")));

        assert_eq!(check(json!(session(2))).await["events"], 153);
        let fewer = check(without(&[6])).await;
        assert_eq!((&fewer["events"], &fewer["landing_contacts"]["outcome"]), (&json!(115), &json!("certain")));
        assert_eq!(fewer["jump_gap"]["reason"], "nothing_before");
        let fewer = check(without(&[6, 5])).await;
        assert_eq!((&fewer["events"], &fewer["landing_contacts"]["outcome"]), (&json!(91), &json!("not_raised")));
        // Nobody knows how the block jump lands.
        let mut unknown = session(3);
        unknown[1] = json!({ "inline": { "landing": null }, "sets": 3, "reps": 6 });
        let unknown = check(json!(unknown)).await;
        assert_eq!((&unknown["events"], &unknown["at_least"]), (&json!(145), &json!(true)));
        assert_eq!((&unknown["items"][1]["events"], &unknown["items"][1]["reason"]), (&Value::Null, &json!("landing_not_known")));

        // A distance tells no landings, a skip that is not measured no metres either, and neither is an error.
        let skip = |legs: Value, unit: &str| json!([{ "exercise": "lateral_bound", "sets": 2, "distance": { "legs": legs, "unit": unit } }]);
        let bounds = check(skip(json!([20]), "m")).await;
        assert_eq!((&bounds["items"][0]["events"], &bounds["items"][0]["distance_m"]), (&Value::Null, &json!(40.0)));
        let skipped = check(skip(json!([null]), "m")).await;
        assert_eq!((&skipped["items"][0]["distance_m"], &skipped["distance_at_least"]), (&Value::Null, &json!(true)));
        // 2 x 25 yd = 45.72 m, exactly (international yard, 1 July 1959).
        assert_eq!(check(skip(json!([25]), "yd")).await["distance_m"], 45.72);
        let right = check(json!([{ "exercise": "lateral_bound", "sets": 1, "reps": 4, "side": "right" }])).await;
        assert_eq!((&right["left_leg"], &right["right_leg"]), (&json!(0), &json!(4)));
    }

    async fn s14_what_is_refused(database: Database) {
        let (_server, club, squad) = club_with_squad(database, "2026-09-09T12:00:00+02:00", "U16").await;
        let athlete = squad.athlete("P-30").await;
        let coach = club.client(Identity::role("coach").subject("coach-3").squad(squad.id()));
        let at = |pointer: &str, code: &str| (format!("/items/0{pointer}"), code.to_owned());
        for (item, fault) in [
            (json!({ "exercise": "moon_jump", "sets": 1, "reps": 1 }), at("/exercise", "unknown_exercise")),
            (json!({ "exercise": "squat", "inline": {}, "sets": 1, "reps": 1 }), at("/exercise", "ambiguous_exercise")),
            (json!({ "sets": 1, "reps": 1 }), at("/exercise", "missing_field")),
            (json!({ "exercise": "squat", "sets": 1 }), at("/reps", "missing_field")),
            (json!({ "exercise": "squat", "sets": 1, "reps": 5, "seconds": 30 }), at("/reps", "ambiguous_work")),
            (json!({ "exercise": "squat", "sets": 11, "reps": 5 }), at("/sets", "out_of_range")),
            (json!({ "exercise": "squat", "sets": 1, "reps": 51 }), at("/reps", "out_of_range")),
            (json!({ "exercise": "squat", "sets": 1, "seconds": 4 }), at("/seconds", "out_of_range")),
            (json!({ "exercise": "squat", "sets": 1, "reps": 5, "side": "left" }), at("/side", "unknown_value")),
            (json!({ "exercise": "shuttle_run", "sets": 1, "distance": { "legs": [15, -10], "unit": "m", "returns_to_start": true } }),
                at("/distance/legs", "not_back_at_start")),
            (json!({ "exercise": "shuttle_run", "sets": 1, "distance": { "legs": [15], "unit": "mile" } }),
                at("/distance/unit", "unknown_value")),
        ] {
            assert_eq!(refused(&coach, item.clone()).await, fault, "{item}");
        }
        // A load comes after its sign-off, where an athlete is named.
        let loaded = json!({ "athlete_id": athlete.id(), "items": [{ "exercise": "squat_jump_loaded", "sets": 3, "reps": 5 }] });
        let early = coach.post("contact-checks", loaded.clone()).await.expect_problem(422, "invalid");
        assert_eq!(early["errors"][0]["code"], "load_not_signed_off");
        let steps = ["squat", "squat_loaded", "step_off_landing_both_feet", "block_jump", "squat_jump_loaded"];
        for (number, exercise) in steps.into_iter().enumerate() {
            let path = format!("athletes/{}/sign-offs/0199a1b2-7c3d-7e4f-8a5b-{number:012}", athlete.id());
            let watched = json!({ "exercise": exercise, "signed_on": "2026-09-08", "seen_in_person": true });
            coach.put(path, watched).await.expect(201);
        }
        let found = coach.post("contact-checks", loaded.clone()).await.expect(200);
        assert_eq!((&found["loaded"], &found["landing_contacts"]), (&json!(15), &Value::Null));
        let far = club.squad("U18").await;
        club.as_coach_of(&[&far]).post("contact-checks", loaded.clone()).await.expect_problem(404, "not_found");
        athlete.as_caller().post("contact-checks", loaded).await.expect_problem(403, "role_may_not");
    }
}
