//! The catalogue of exercises, and techniques signed off by who watched.

use e2e::{Answer, Athlete, Client, Club, Database, Identity, Server, Squad, on_both_databases};
use serde_json::{Value, json};

async fn club_with(database: Database) -> (Server, Club, Squad, Athlete) {
    let server = Server::setup(database)
        .clock("2026-11-09T07:00:00+01:00")
        .start()
        .await;
    let club = server.club("Havneby Handball").await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("P-07").await;
    (server, club, squad, athlete)
}

fn hop(before: &[&str]) -> Value {
    json!({ "name": "Bench hop", "description": "Over a bench on both feet.", "category": "landing", "sides": "both",
        "landing": "both_feet", "prerequisites": before })
}

fn watched(exercise: &str, on: &str) -> Value {
    json!({ "exercise": exercise, "signed_on": on, "seen_in_person": true })
}

/// The first fault of a refusal: where and which.
fn fault(refused: &Answer) -> (String, String) {
    let of = |field: &str| {
        refused["errors"][0][field]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    };
    (of("pointer"), of("code"))
}

async fn sign_off(by: &Client, athlete: &Athlete, number: u32, body: Value) -> Answer {
    let id = format!("0199a1b2-7c3d-7e4f-8a5b-{number:012}");
    by.put(format!("athletes/{}/sign-offs/{id}", athlete.id()), body)
        .await
}

async fn listed(by: &Client, athlete: &Athlete) -> Answer {
    let list = by.get(format!("athletes/{}/sign-offs", athlete.id()));
    list.await.expect(200)
}

/// Exercise, state and what comes next of each sign-off.
fn told(list: &Answer) -> Vec<Value> {
    let items = list["items"].as_array().expect("items").iter();
    items
        .map(|one| json!([one["exercise"], one["state"], one["next"]]))
        .collect()
}

on_both_databases! {
    async fn a_club_adds_exercises_and_films_and_no_circle(database: Database) {
        let (_server, club, _, athlete) = club_with(database).await;
        let (admin, strength) = (club.as_role("club_admin"), club.as_role("strength_coach"));
        let list = athlete.as_caller().get("exercises").query("limit", 500).await.expect(200);
        let shipped = list["items"].as_array().expect("items");
        assert!((20..=40).contains(&shipped.len()) && shipped.iter().all(|one| one["version"] == 0 && one["shipped"] == true));
        let first = athlete.as_caller().get("exercises").query("limit", 3).await.expect(200);
        let next = first["next"].as_str().expect("a cursor");
        let second = athlete.as_caller().get("exercises").query("limit", 500).query("after", next).await.expect(200);
        assert_eq!(second["items"].as_array().map(Vec::len), Some(shipped.len() - 3));

        // A film of a shipped one, and of nothing else.
        let film = json!({ "film_url": "https://films.example/block" });
        strength.put("exercises/block_jump", film.clone()).await.expect_problem(428, "precondition_required");
        let filmed = strength.put("exercises/block_jump", film.clone()).if_match("\"0\"").await.expect(200);
        assert_eq!((&filmed["film_url"], &filmed["name"], &filmed["version"]), (&film["film_url"], &json!("Block jump"), &json!(1)));
        strength.put("exercises/block_jump", film).await.expect(200);
        let renamed = json!({ "name": "Jump", "film_url": "https://films.example/block" });
        let refused = strength.put("exercises/block_jump", renamed).await.expect_problem(422, "invalid");
        assert_eq!(fault(&refused), ("/name".to_owned(), "shipped_exercise".to_owned()));
        let http = json!({ "film_url": "http://films.example/block" });
        let refused = strength.put("exercises/block_jump", http).await.expect_problem(422, "invalid");
        assert_eq!(fault(&refused), ("/film_url".to_owned(), "link_not_https".to_owned()));
        strength.delete("exercises/block_jump").if_match("\"1\"").await.expect(204);
        let bare = strength.get("exercises/block_jump").await.expect(200);
        assert_eq!((&bare["film_url"], &bare["version"]), (&Value::Null, &json!(2)));
        strength.delete("exercises/block_jump").if_match("\"2\"").await.expect_problem(409, "conflict");

        // Own ones, one on top of the other.
        let base = admin.put("exercises/bench_hop", hop(&["step_off_landing_both_feet"])).await.expect(201);
        assert_eq!((&base["step"], &base["taught"], &base["shipped"]), (&json!("both_feet"), &json!(true), &json!(false)));
        admin.put("exercises/high_bench_hop", hop(&["bench_hop"])).await.expect(201);
        let refused = |body: Value| {
            let put = admin.put("exercises/bench_hop", body).if_match("\"1\"");
            async move { fault(&put.await.expect_problem(422, "invalid")) }
        };
        let at = |place: u8, code: &str| (format!("/prerequisites/{place}"), code.to_owned());
        assert_eq!(refused(hop(&["squat", "high_bench_hop"])).await, at(1, "circular_prerequisite"));
        assert_eq!(refused(hop(&["bench_hop"])).await, at(0, "circular_prerequisite"));
        assert_eq!(refused(hop(&["no_such_hop"])).await, at(0, "unknown_exercise"));
        let mut on_one = hop(&["block_jump"]);
        on_one["landing"] = json!("each_foot");
        let skipped = admin.put("exercises/bench_bound", on_one).await.expect_problem(422, "invalid");
        assert_eq!(fault(&skipped), ("/prerequisites".to_owned(), "step_skipped".to_owned()));
        let needed = admin.delete("exercises/bench_hop").if_match("*").await.expect_problem(409, "exercise_needed");
        assert!(needed.string("detail").contains("high_bench_hop"), "{}", needed.text());
        admin.delete("exercises/high_bench_hop").if_match("*").await.expect(204);
        admin.get("exercises/high_bench_hop").await.expect_problem(404, "not_found");
        let again = admin.put("exercises/high_bench_hop", hop(&["bench_hop"])).await.expect(201);
        assert_eq!(again["version"], 3);
        club.as_role("coach").put("exercises/my_hop", hop(&[])).await.expect_problem(403, "role_may_not");
    }

    async fn a_technique_is_signed_off_step_by_step_by_somebody_else_who_watched(database: Database) {
        let (_server, club, squad, athlete) = club_with(database).await;
        let coach = club.client(Identity::role("coach").subject("coach-3").squad(squad.id()));
        let first = sign_off(&coach, &athlete, 1, watched("squat", "2026-11-01")).await.expect(201);
        assert_eq!((&first["by_role"], &first["by_subject"], &first["state"]), (&json!("coach"), &json!("coach-3"), &json!("standing")));
        assert_eq!(first["next"], json!(["split_squat", "squat_loaded", "step_off_landing_both_feet"]));
        sign_off(&coach, &athlete, 1, watched("squat", "2026-11-01")).await.expect(200);

        let refused = |body: Value| {
            let put = sign_off(&coach, &athlete, 2, body);
            async move { fault(&put.await.expect_problem(422, "invalid")) }
        };
        let at = |pointer: &str, code: &str| (pointer.to_owned(), code.to_owned());
        let mut filmed = watched("hip_hinge", "2026-11-01");
        filmed["seen_in_person"] = json!(false);
        assert_eq!(refused(filmed).await, at("/seen_in_person", "not_seen_in_person"));
        assert_eq!(refused(watched("hip_hinge", "2026-11-10")).await, at("/signed_on", "in_future"));
        assert_eq!(refused(watched("no_such_hop", "2026-11-01")).await, at("/exercise", "unknown_exercise"));
        assert_eq!(refused(watched("squat", "2026-11-02")).await, at("/exercise", "signed_off_already"));
        // Neither a step too far, nor one before the day of the step before.
        assert_eq!(refused(watched("step_off_landing_both_feet", "2026-10-31")).await, at("/exercise", "step_before_missing"));
        let far = sign_off(&coach, &athlete, 2, watched("block_jump", "2026-11-02")).await.expect_problem(422, "invalid");
        assert_eq!(fault(&far), at("/exercise", "step_before_missing"));
        assert!(far.string("detail").contains("Step-off landing on both feet, held"), "{}", far.text());
        sign_off(&coach, &athlete, 2, json!({ "exercise": "squat", "by": "me" })).await.expect(422);

        // Never by herself, in whatever role; never out of reach.
        sign_off(&athlete.as_caller(), &athlete, 3, watched("hip_hinge", "2026-11-01")).await.expect_problem(403, "role_may_not");
        for herself in [Identity::role("coach").athlete(athlete.id()), Identity::role("strength_coach").subject("P-07")] {
            let own = club.client(herself);
            sign_off(&own, &athlete, 3, watched("hip_hinge", "2026-11-01")).await.expect_problem(403, "own_record");
        }
        let other = club.squad("U18").await;
        let far = club.as_coach_of(&[&other]);
        sign_off(&far, &athlete, 3, watched("hip_hinge", "2026-11-01")).await.expect_problem(404, "not_found");

        let strength = club.client(Identity::role("strength_coach").subject("strength-1"));
        let landing = sign_off(&strength, &athlete, 4, watched("step_off_landing_both_feet", "2026-11-03")).await.expect(201);
        let path = format!("athletes/{}/sign-offs/{}", athlete.id(), landing.string("sign_off_id"));
        coach.put(&path, watched("step_off_landing_both_feet", "2026-11-04")).if_match("*").await.expect_problem(409, "conflict");
        let mut noted = watched("step_off_landing_both_feet", "2026-11-03");
        noted["note"] = json!("Quiet.");
        strength.put(&path, noted.clone()).await.expect_problem(428, "precondition_required");
        strength.put(&path, noted).if_match("\"1\"").await.expect(200);
        let family = listed(&club.as_guardian_of(&[&athlete]), &athlete).await;
        assert_eq!((&family["items"][1]["note"], &family["items"][1]["by_subject"]), (&json!("Quiet."), &Value::Null));
        assert_eq!(listed(&athlete.as_caller(), &athlete).await.body, family.body);
        let before = club.as_role("athletic_trainer").get(format!("athletes/{}/history", athlete.id()));
        let before = before.query("purpose", "screening").await.expect(200);
        let next = "Block jump; Two-foot hurdle hop; Standing long jump, landing held";
        assert_eq!(before["sign_offs"][1], json!({ "exercise": "Step-off landing on both feet, held", "signed_on": "2026-11-03",
            "by_role": "strength_coach", "state": "standing", "next": next }));

        // What is withdrawn stays, and what builds on it leads nowhere.
        let squat = format!("athletes/{}/sign-offs/{}", athlete.id(), first.string("sign_off_id"));
        coach.delete(&squat).if_match("\"1\"").await.expect_problem(422, "invalid");
        let reason = r#"{"reason": "The heels come up."}"#;
        coach.delete(&squat).body("application/json", reason).if_match("\"1\"").await.expect(204);
        let after = listed(&coach, &athlete).await;
        assert_eq!(told(&after), [
            json!(["squat", "withdrawn", []]),
            json!(["step_off_landing_both_feet", "step_before_missing", []]),
        ]);
        assert_eq!(after["items"][0]["withdrawn"]["reason"], "The heels come up.");
        coach.put(&squat, watched("squat", "2026-11-05")).if_match("*").await.expect_problem(409, "conflict");
        let then = coach.get(format!("athletes/{}/sign-offs", athlete.id())).query("as_of", before.string("as_of"));
        assert_eq!(told(&then.await.expect(200))[0], json!(["squat", "standing", ["split_squat", "squat_loaded"]]));
        sign_off(&coach, &athlete, 5, watched("squat", "2026-11-03")).await.expect(201);
        let renewed = listed(&coach, &athlete).await;
        assert_eq!(told(&renewed)[1], json!(["step_off_landing_both_feet", "standing",
            ["block_jump", "hurdle_hop_both_feet", "standing_long_jump"]]));
    }
}
