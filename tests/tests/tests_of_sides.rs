//! Results of tests and injuries: entered, found, changed, taken back, by whom, and what they are refused for.

use e2e::{Answer, Athlete, Client, Club, Database, FREE_ID, Identity, Server, on_both_databases};
use serde_json::{Value, json};

async fn world(database: Database) -> (Server, Club, Athlete) {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    let athlete = club.squad("U18").await.athlete("P-33").await;
    (server, club, athlete)
}

fn hop(athlete: &Athlete, day: &str, trials: &[f64]) -> Value {
    json!({ "athlete_id": athlete.id(), "test": "single_hop_distance", "side": "left", "trials": trials,
        "tested_on": day, "tester": "Runa F." })
}

fn trainer(club: &Club) -> Client {
    club.client(Identity::role("athletic_trainer").subject("trainer-1"))
}

fn strength_coach(club: &Club, subject: &str) -> Client {
    club.client(Identity::role("strength_coach").subject(subject))
}

#[track_caller]
fn assert_faults(answer: Answer, expected: &[&str]) {
    let answer = answer.expect_problem(422, "invalid");
    let faults = answer["errors"].as_array().expect("errors").iter();
    let found: Vec<String> = faults
        .map(|fault| {
            format!(
                "{} {}",
                fault["pointer"].as_str().expect("text"),
                fault["code"].as_str().expect("text")
            )
        })
        .collect();
    assert_eq!(found, expected);
}

on_both_databases! {
    async fn a_result_is_entered_once_changed_and_taken_back(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let trainer = trainer(&club);
        let entered = trainer.post("tests", hop(&athlete, "2026-11-02", &[126.0, 128.5])).await.expect(201);
        assert_eq!((&entered["unit"], &entered["better"], &entered["phase"]), (&json!("cm"), &json!("higher"), &json!("post")));
        assert_eq!((&entered["trials"], &entered["warnings"]), (&json!([126.0, 128.5]), &json!([])));
        let again = trainer.post("tests", hop(&athlete, "2026-11-02", &[126.0, 128.5])).await.expect(200);
        assert_eq!(again.body, entered.body, "the result that is there");

        let path = format!("tests/{}", entered.string("test_result_id"));
        let other = hop(&athlete, "2026-11-02", &[127.0, 128.5]);
        trainer.put(&path, other.clone()).await.expect_problem(428, "precondition_required");
        let changed = trainer.put(&path, other.clone()).if_match(entered.etag()).await.expect(200);
        assert_eq!((&changed["version"], &changed["trials"][0]), (&json!(2), &json!(127.0)));
        trainer.put(&path, other).await.expect(200);
        let listed = trainer.get("tests").query("athlete", athlete.id()).await.expect(200);
        assert_eq!(listed["items"].as_array().map(Vec::len), Some(1));
        trainer.delete(&path).if_match("\"1\"").await.expect_problem(412, "precondition_failed");
        trainer.delete(&path).if_match(changed.etag()).await.expect(204);
        trainer.get(&path).await.expect_problem(404, "not_found");
        trainer.put(&path, hop(&athlete, "2026-11-03", &[127.0, 128.5])).await.expect(201);
    }

    async fn a_result_is_refused_for_each_of_its_faults(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let post = |body: Value| trainer(&club).post("tests", body);
        assert_faults(post(hop(&athlete, "2026-11-02", &[128.0])).await, &["/trials too_few_trials"]);
        assert_faults(post(hop(&athlete, "2026-12-24", &[128.0, 401.0])).await, &["/trials/1 trial_out_of_range", "/tested_on in_future"]);
        let sprint = json!({ "athlete_id": athlete.id(), "test": "sprint_10m", "side": "both", "trials": [1.9, 1.2],
            "tested_on": "2026-11-02", "tester": "Runa F." });
        let refused = post(sprint).await;
        assert_eq!(refused["errors"][0]["allowed"], "1.3 to 10 s, at most 3 decimals");
        assert_faults(refused, &["/trials/1 trial_out_of_range"]);
        assert_faults(post(json!({})).await, &["/athlete_external_id missing_field", "/test missing_field", "/unit missing_field",
            "/better missing_field", "/side missing_field", "/trials missing_field", "/tested_on missing_field", "/tester missing_field"]);
        let own = json!({ "athlete_id": athlete.id(), "test": "ball_speed", "unit": "km/h", "better": "higher", "side": "both",
            "trials": [61, 62.5], "tested_on": "2026-11-02", "tester": "Runa F." });
        post(own).dry_run().await.expect(201);
        let listed = trainer(&club).get("tests").await.expect(200);
        assert_eq!(listed["items"], json!([]), "nothing of all that was stored");
    }

    async fn a_result_unlike_her_own_is_stored_with_a_warning(database: Database) {
        let (_server, club, athlete) = world(database).await;
        for (day, trials) in [("2026-09-01", [126.0, 128.0]), ("2026-10-01", [127.0, 129.0]), ("2026-10-15", [130.0, 131.0])] {
            let usual = trainer(&club).post("tests", hop(&athlete, day, &trials)).await.expect(201);
            assert_eq!(usual["warnings"], json!([]));
        }
        let odd = trainer(&club).post("tests", hop(&athlete, "2026-11-02", &[128.0, 228.0])).await.expect(201);
        assert_eq!(odd["warnings"], json!(["unlike_own_history"]));
        // Who may not read what she came to before is not told how a new result compares.
        let blind = strength_coach(&club, "coach-8").post("tests", hop(&athlete, "2026-11-03", &[128.0, 228.0])).await.expect(201);
        assert_eq!(blind["warnings"], json!([]));
    }

    async fn who_measures_keeps_her_own_results_and_reads_none(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let (one, other) = (strength_coach(&club, "coach-8"), strength_coach(&club, "coach-9"));
        let entered = one.post("tests", hop(&athlete, "2026-11-02", &[126.0, 128.0])).await.expect(201);
        let path = format!("tests/{}", entered.string("test_result_id"));
        for coach in [&one, &other, &club.as_role("coach"), &athlete.as_caller()] {
            for read in [path.as_str(), "tests", "injuries"] {
                coach.get(read).await.expect_problem(403, "role_may_not");
            }
        }
        other.put(&path, hop(&athlete, "2026-11-02", &[120.0, 121.0])).if_match("*").await.expect_problem(404, "not_found");
        other.delete(&path).if_match("*").await.expect_problem(404, "not_found");
        one.put(&path, hop(&athlete, "2026-11-02", &[126.5, 128.0])).if_match("\"1\"").await.expect(200);
        assert_eq!(trainer(&club).get(&path).await.expect(200)["version"], 2);
        one.delete(&path).if_match("\"2\"").await.expect(204);
        let squad = club.squad("U14").await;
        let far = club.client(Identity::role("strength_coach").squad(squad.id()));
        assert_faults(far.post("tests", hop(&athlete, "2026-11-02", &[126.0, 128.0])).await, &["/athlete_id unknown_person"]);
    }

    async fn an_injury_has_a_side_and_dates_and_nothing_else(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let trainer = trainer(&club);
        let injury = json!({ "athlete_id": athlete.id(), "side": "left", "injured_on": "2026-02-21", "surgery_on": "2026-03-06" });
        let entered = trainer.post("injuries", injury.clone()).await.expect(201);
        assert_eq!(trainer.post("injuries", injury.clone()).await.expect(200).body, entered.body);
        let told = json!({ "athlete_id": athlete.id(), "side": "left", "injured_on": "2026-02-21", "diagnosis": "none of ours" });
        assert_faults(trainer.post("injuries", told).await, &["/diagnosis unknown_field"]);
        let reversed = json!({ "athlete_id": athlete.id(), "side": "knee", "injured_on": "2026-02-21", "surgery_on": "2026-02-20" });
        assert_faults(trainer.post("injuries", reversed).await, &["/side unknown_value", "/surgery_on range_reversed"]);
        for role in ["coach", "strength_coach", "integration", "club_admin"] {
            club.as_role(role).post("injuries", injury.clone()).await.expect_problem(403, "role_may_not");
        }
        let path = format!("injuries/{}", entered.string("injury_id"));
        assert_eq!(trainer.get(&path).await.expect(200).body, entered.body);
        trainer.delete(&path).if_match(entered.etag()).await.expect(204);
        trainer.get(&path).await.expect_problem(404, "not_found");
    }

    async fn reads_of_tests_are_entered_in_the_audit_list(database: Database) {
        let (_server, club, athlete) = world(database).await;
        let trainer = trainer(&club);
        let entered = trainer.post("tests", hop(&athlete, "2026-11-02", &[126.0, 128.0])).await.expect(201);
        trainer.get(format!("tests/{}", entered.string("test_result_id"))).await.expect(200);
        trainer.get("tests").await.expect(200);
        trainer.get("injuries").query("athlete", athlete.id()).await.expect(200);
        let audit = club.as_role("privacy_lead").get("audit").query("athlete", athlete.id()).await.expect(200);
        let rows = audit["items"].as_array().expect("rows").iter();
        let mut actions: Vec<&str> = rows.filter_map(|row| row["action"].as_str()).collect();
        actions.sort_unstable();
        assert_eq!(actions, ["list_injuries", "list_test_results", "read_test_result"]);
        trainer.put(format!("tests/{FREE_ID}"), hop(&athlete, "2026-11-04", &[126.0, 128.0])).await.expect(201);
    }
}
