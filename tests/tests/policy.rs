//! Clubs and their policies: versions that are added, never changed, and what a new one reaches.

use e2e::{Club, Database, Identity, Server, on_both_databases};
use serde_json::{Value, json};

async fn club(database: Database) -> (Server, Club) {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    (server, club)
}

/// The flags of 2026-W45 as the coaches see them: state and the last cause.
async fn flags(club: &Club) -> Vec<(Value, Value)> {
    let list = club
        .as_role("coach")
        .get("flags")
        .query("week", "2026-W45")
        .await
        .expect(200);
    let items = list["items"].as_array().expect("items");
    items
        .iter()
        .map(|flag| (flag["state"].clone(), flag["current"]["cause"].clone()))
        .collect()
}

/// A club whose week 2026-W45 was closed with one athlete's spike in it, 2880 AU after 1380, 1380 and 1530.
async fn spike(server: &Server, club: &Club) -> e2e::Athlete {
    let athlete = club
        .squad("U16")
        .await
        .athlete("P-12")
        .with("joined_on", "2026-10-12")
        .await;
    club.bulk(athlete.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0]))
        .await
        .expect(200);
    let closed = server.run(&["close-week", "--week", "2026-W45"]);
    assert!(
        closed.status.success(),
        "{}",
        String::from_utf8_lossy(&closed.stderr)
    );
    athlete
}

on_both_databases! {
    async fn a_club_is_made_read_and_changed(database: Database) {
        let server = Server::start(database).await;
        let operator = server.as_role("operator");
        let body = json!({ "name": "Havneby Handball", "time_zone": "europe/copenhagen" });
        let made = operator.post("/v1/clubs", body).await.expect(201);
        assert_eq!((&made["time_zone"], &made["version"], made.etag()), (&json!("Europe/Copenhagen"), &json!(1), "\"1\""));
        let id = made.string("club_id");
        let path = format!("/v1/clubs/{id}");
        assert_eq!(made.header("location"), Some(path.as_str()));

        let admin = server.client(Identity::role("club_admin").club(&id), Some(&id));
        assert_eq!(admin.get(&path).await.expect(200).body, made.body);
        admin.patch(&path, json!({ "name": "Nyby" })).await.expect_problem(428, "precondition_required");
        admin.patch(&path, json!({ "name": "Nyby" })).if_match("\"2\"").await.expect_problem(412, "precondition_failed");
        let changed = admin.patch(&path, json!({ "name": "Nyby" })).if_match("\"1\"").await.expect(200);
        assert_eq!((&changed["name"], &changed["version"]), (&json!("Nyby"), &json!(2)));
        assert_eq!(admin.patch(&path, json!({})).if_match("\"2\"").await.expect(200)["version"], 2);
        admin.patch(&path, json!({ "name": "", "time_zone": "Mars" })).if_match("\"2\"").await
            .expect_faults(&[("/name", "text_empty"), ("/time_zone", "unknown_time_zone")]);
    }

    async fn only_the_operator_makes_clubs_and_enters_none(database: Database) {
        let (server, club) = club(database).await;
        let path = format!("/v1/clubs/{}", club.id());
        let body = json!({ "name": "Fjordby", "time_zone": "Europe/Oslo" });
        club.as_role("club_admin").post("/v1/clubs", body.clone()).await.expect_problem(403, "role_may_not");
        server.anonymous().post("/v1/clubs", body).await.expect_problem(401, "unauthenticated");
        server.as_role("operator").get(&path).await.expect_problem(403, "role_may_not");
        let other = server.club("Fjordby Handball").await;
        other.as_role("club_admin").get(&path).await.expect_problem(404, "not_found");
        let patch = other.as_role("club_admin").patch(&path, json!({ "name": "Ours now" })).if_match("*");
        patch.await.expect_problem(404, "not_found");
        club.as_role("coach").patch(&path, json!({ "name": "Mine" })).if_match("*").await.expect_problem(403, "role_may_not");
    }

    async fn a_club_is_made_once_for_a_key_and_not_at_all_in_a_trial(database: Database) {
        let server = Server::start(database).await;
        let trial = server.club("Havneby Handball").into_request().dry_run().await.expect(201);
        let id = trial.string("club_id");
        let admin = server.client(Identity::role("club_admin").club(&id), Some(&id));
        admin.get(format!("/v1/clubs/{id}")).await.expect_problem(404, "not_found");

        let make = |name: &str| server.club(name).into_request().idempotency_key("club-1");
        let first = make("Havneby Handball").await.expect(201);
        let again = make("Havneby Handball").await.expect(201);
        assert_eq!((again.header("idempotent-replayed"), &again.bytes), (Some("true"), &first.bytes));
        make("Fjordby Handball").await.expect_problem(422, "idempotency_key_reused");
        let faulty = || server.club("").into_request().idempotency_key("club-2");
        faulty().await.expect_faults(&[("/name", "text_empty")]);
        assert_eq!(faulty().await.header("idempotent-replayed"), Some("true"));
        server.as_role("operator").post("/v1/clubs", json!({ "name": "Fjordby", "town": "Fjordby" })).await
            .expect_problem(422, "invalid");
    }

    async fn a_policy_is_added_in_versions(database: Database) {
        let (_server, club) = club(database).await;
        let admin = club.as_role("club_admin");
        admin.get("policy").await.expect_problem(404, "not_found");
        let first = club.example_policy().await;
        assert_eq!((&first["version"], first.etag()), (&json!(1), "\"1\""));
        assert_eq!(first["received_at"].as_str().map(|at| &at[..10]), Some("2026-11-09"));
        assert_eq!(club.as_role("coach").get("policy").await.expect(200).body, first.body);

        let put = |from: &str, floor: f64| club.example_policy().with("effective_from", from).with("chronic_floor_au", floor).into_request();
        let same = put("2026-01-01", 250.0).await.expect(200);
        assert_eq!(same.body, first.body, "250.0 is 250, and the same content is no new version");
        put("2026-11-16", 300.0).await.expect_problem(428, "precondition_required");
        put("2026-11-16", 300.0).if_match("\"3\"").await.expect_problem(412, "precondition_failed");
        put("2026-11-08", 300.0).if_match("\"1\"").await.expect_faults(&[("/effective_from", "policy_in_past")]);
        put("2026-11-08", 300.2).if_match("\"1\"").await
            .expect_faults(&[("/chronic_floor_au", "out_of_range"), ("/effective_from", "policy_in_past")]);
        let second = put("2026-11-09", 300.0).if_match("\"1\"").await.expect(200);
        assert_eq!((&second["version"], &second["chronic_floor_au"], second.etag()), (&json!(2), &json!(300.0), "\"2\""));

        let versions = club.as_role("coach").get("policy/versions").query("limit", 1).await.expect(200);
        assert_eq!(versions["items"], json!([first.body]));
        let rest = club.as_role("coach").get("policy/versions").query("limit", 1).query("after", versions.string("next")).await.expect(200);
        assert_eq!((&rest["items"], &rest["next"]), (&json!([second.body]), &Value::Null));
    }

    async fn a_policy_is_refused_for_each_of_its_faults(database: Database) {
        let (_server, club) = club(database).await;
        let faulty = club.example_policy().with("approved_by", " ").with("midnight", "noon").with("effective_from", "soon");
        faulty.into_request().await
            .expect_faults(&[("/effective_from", "invalid_date"), ("/approved_by", "text_empty"), ("/midnight", "unknown_value")]);
        let rules = json!([
            { "code": "week_end_ratio", "enabled": true, "ratio_kind": "coupled", "limit": 4, "source_note": "n" },
            { "code": "week_end_ratio", "enabled": true, "limit": 2, "source_note": "n" },
            { "code": "free_days", "enabled": true, "limit": 1, "source_note": "n" },
        ]);
        club.example_policy().with("rules", rules).into_request().await.expect_faults(&[
            ("/rules/0/limit", "limit_out_of_range"), ("/rules/1/code", "rule_twice"),
            ("/rules/1/ratio_kind", "missing_field"), ("/rules/2/enabled", "rule_not_evaluated"),
        ]);
        club.example_policy().without("rules").into_request().await.expect_faults(&[("/rules", "missing_field")]);
        let body = club.example_policy().into_body();
        club.as_role("coach").put("policy", body).await.expect_problem(403, "role_may_not");
        club.as_role("athlete").get("policy").await.expect_problem(403, "role_may_not");
        club.example_policy().into_request().dry_run().await.expect(201);
        club.as_role("club_admin").get("policy").await.expect_problem(404, "not_found");
    }

    async fn a_policy_that_splits_at_midnight_moves_loads(database: Database) {
        let (_server, club) = club(database).await;
        let athlete = club.squad("U16").await.athlete("P-07").await;
        // 20 minutes before midnight and 25 after it, at 8.
        athlete.session("2026-10-31T23:40:00+01:00", 45, 8.0).await;
        let loads = || async { [athlete.day_figures("2026-10-31").await["load_au"].clone(), athlete.day_figures("2026-11-01").await["load_au"].clone()] };
        assert_eq!(loads().await, [360.0, 0.0]);
        club.example_policy().with("midnight", "split").await;
        assert_eq!(loads().await, [160.0, 200.0]);
        // A later policy leaves dates before it as they are.
        let later = club.example_policy().with("effective_from", "2026-11-09").into_request().if_match("\"1\"");
        later.await.expect(200);
        assert_eq!(loads().await, [160.0, 200.0]);
    }

    async fn a_first_policy_judges_the_weeks_that_were_closed_without_one(database: Database) {
        let (server, club) = club(database).await;
        spike(&server, &club).await;
        assert_eq!(flags(&club).await, []);
        club.example_policy().await;
        assert_eq!(flags(&club).await, [(json!("open"), json!("policy_changed"))]);
    }

    async fn an_absence_withdraws_a_flag_and_without_it_the_flag_is_raised_again(database: Database) {
        let (server, club) = club(database).await;
        club.example_policy().await;
        let athlete = spike(&server, &club).await;
        assert_eq!(flags(&club).await, [(json!("open"), json!("week_closed"))]);
        let app = club.as_role("integration");
        // No ratio is given within 28 days of a long absence. One began a year before the week, one ends after it.
        for (from, to) in [("2025-10-20", "2026-10-24"), ("2026-10-26", "2026-11-20")] {
            let absence = json!({ "athlete_id": athlete.id(), "from": from, "to": to, "category": "exams" });
            let absence = app.post("absences", absence).await.expect(201);
            assert_eq!(flags(&club).await, [(json!("withdrawn"), json!("data_changed"))], "{from}");
            let path = format!("absences/{}", absence.string("absence_id"));
            app.delete(path).if_match(absence.etag()).await.expect(204);
            assert_eq!(flags(&club).await, [(json!("open"), json!("data_changed"))], "{from}");
        }
    }

    async fn a_later_first_day_withdraws_the_flags_before_it(database: Database) {
        let (server, club) = club(database).await;
        club.example_policy().await;
        let athlete = spike(&server, &club).await;
        let admin = club.as_role("club_admin");
        let path = format!("athletes/{}", athlete.id());
        admin.patch(&path, json!({ "joined_on": "2026-11-09" })).if_match("\"1\"").await.expect(200);
        assert_eq!(flags(&club).await, [(json!("withdrawn"), json!("data_changed"))]);
        admin.patch(&path, json!({ "joined_on": "2026-10-12" })).if_match("\"2\"").await.expect(200);
        assert_eq!(flags(&club).await, [(json!("open"), json!("data_changed"))]);
    }
}
