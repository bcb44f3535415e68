//! Events: planned, changed, moved, cancelled, taken back; tried without storing; refused for each of their faults.

use crate::*;

on_both_databases! {
    async fn an_event_is_planned_once_changed_and_taken_back(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let coach = club.as_role("coach");
        let body = squad.event(THURSDAY, 90).with("external_id", "hall-1").with("intended_rpe", 6.5).into_body();
        let made = coach.post("events", body.clone()).await.expect(201);
        assert_eq!((&made["version"], &made["load_date"], &made["status"], &made["intended_rpe"]),
            (&json!(1), &json!("2026-11-05"), &json!("planned"), &json!(6.5)));
        let again = coach.post("events", body.clone()).await.expect(200);
        assert_eq!((&again["event_id"], &again["version"]), (&made["event_id"], &json!(1)), "the same content changes nothing");
        let path = format!("events/{}", made.string("event_id"));
        assert_eq!(athlete.as_caller().get(&path).await.expect(200)["starts_at"], "2026-11-05T17:30:00+01:00");

        coach.patch(&path, json!({ "minutes": 75 })).await.expect_problem(428, "precondition_required");
        let shorter = coach.patch(&path, json!({ "minutes": 75 })).if_match(made.etag()).await.expect(200);
        assert_eq!((&shorter["minutes"], &shorter["version"], &shorter["intended_rpe"]), (&json!(75), &json!(2), &json!(6.5)));
        coach.patch(&path, json!({ "minutes": 60 })).if_match(made.etag()).await.expect_problem(412, "precondition_failed");
        let put = coach.put(&path, body.clone()).if_match(shorter.etag()).await.expect(200);
        assert_eq!((&put["minutes"], &put["version"]), (&json!(90), &json!(3)));
        coach.delete(&path).if_match(shorter.etag()).await.expect_problem(412, "precondition_failed");
        coach.delete(&path).if_match(put.etag()).await.expect(204);
        coach.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(open(&athlete, "2026-11-05").await, state("assumed_rest", 0.0));
        let anew = coach.post("events", body).await.expect(201);
        assert_eq!(anew["event_id"], made["event_id"], "the same event under its external id");
    }

    async fn a_trial_stores_nothing(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let coach = club.as_role("coach");
        let body = squad.event(THURSDAY, 90).into_body();
        let tried = coach.post("events", body.clone()).dry_run().await.expect(201);
        assert_eq!(tried["minutes"], 90);
        assert_eq!(coach.get("events").await.expect(200)["items"], json!([]));
        let event = squad.event(THURSDAY, 90).await;
        let path = format!("events/{}", event.string("event_id"));
        let tried = coach.patch(&path, json!({ "status": "cancelled" })).if_match("*").dry_run().await.expect(200);
        assert_eq!(tried["status"], "cancelled");
        coach.delete(&path).if_match("*").dry_run().await.expect(204);
        athlete.attendance(&event, "absent").into_request().dry_run().await.expect(201);
        assert_eq!(open(&athlete, "2026-11-05").await, state("unlogged", 900.0));
        assert_eq!(coach.get(&path).await.expect(200).etag(), event.etag());
    }

    async fn an_event_is_refused_for_each_of_its_faults(database: Database) {
        let World { club, squad, server: _server, .. } = world(database).await;
        let coach = club.as_role("coach");
        let event = || squad.event(THURSDAY, 90);
        for (draft, pointer, code) in [
            (event().with("starts_at", "2026-11-05T17:30:00"), "/starts_at", "missing_zone"),
            (event().with("starts_at", "2026-10-25T02:30:00").with("time_zone", "Europe/Copenhagen"), "/starts_at", "ambiguous_local_time"),
            (event().with("starts_at", "2027-03-28T02:30:00").with("time_zone", "Europe/Copenhagen"), "/starts_at", "nonexistent_local_time"),
            (event().with("starts_at", "2036-11-05T17:30:00+01:00"), "/starts_at", "out_of_range"),
            (event().with("minutes", 0), "/minutes", "minutes_out_of_range"),
            (event().with("minutes", 601), "/minutes", "minutes_out_of_range"),
            (event().with("intended_rpe", 10.5), "/intended_rpe", "rpe_out_of_range"),
            (event().with("status", "postponed"), "/status", "unknown_value"),
            (event().with("setting", "gym"), "/setting", "unknown_value"),
            (event().with("squads", json!([e2e::FREE_ID])), "/squads/0", "unknown_squad"),
            (event().with("athletes", json!([e2e::FREE_ID])), "/athletes/0", "unknown_person"),
            (event().without("squads"), "/squads", "missing_field"),
        ] {
            coach.post("events", draft.into_body()).await.expect_faults(&[(pointer, code)]);
        }
        let all = event().with("minutes", 0).with("starts_at", "soon").with("kind", "match").into_body();
        coach.post("events", all).await
            .expect_faults(&[("/kind", "unknown_value"), ("/starts_at", "invalid_instant"), ("/minutes", "minutes_out_of_range")]);
        let field = event().with("place", "hall 2").into_body();
        coach.post("events", field).await.expect_problem(422, "invalid");
        assert_eq!(coach.get("events").await.expect(200)["items"], json!([]));
    }

    async fn odd_events_are_kept_with_warnings(database: Database) {
        let World { squad, server: _server, .. } = world(database).await;
        assert_eq!(codes(&squad.event(THURSDAY, 90).await.body, "warnings"), [""; 0]);
        let school = squad.event("2026-11-05T18:00:00+01:00", 60).with("setting", "school_team").await;
        assert_eq!(codes(&school.body, "warnings"), ["overlaps_other_event"]);
        let after = squad.event("2026-11-05T19:00:00+01:00", 60).await;
        assert_eq!(codes(&after.body, "warnings"), [""; 0], "one begins as the other ends");
        let camp = squad.event("2026-11-04T08:00:00+01:00", 400).await;
        assert_eq!(codes(&camp.body, "warnings"), ["long_session"]);
        let camp = squad.event("2026-11-04T16:00:00+01:00", 240).await;
        assert_eq!(codes(&camp.body, "warnings"), ["long_session", "long_day"]);
        let bare = squad.event("2026-11-03T16:30:00Z", 90).await;
        assert_eq!((&bare["load_date"], codes(&bare.body, "warnings")), (&json!("2026-11-03"), vec!["zone_assumed".to_owned()]));
    }

    async fn a_local_start_is_taken_in_its_zone(database: Database) {
        let World { squad, server: _server, .. } = world(database).await;
        let away = squad.event("2026-11-05T17:30:00Z", 90)
            .with("starts_at", "2026-09-27T23:30:00").with("time_zone", "Atlantic/Faroe").await;
        assert_eq!((&away["starts_at"], &away["load_date"]), (&json!("2026-09-27T23:30:00+01:00"), &json!("2026-09-27")));
    }
}
