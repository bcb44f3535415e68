//! S07: three sources, one practice (P-18, U16). Schedule 90 minutes, the athlete's 6.5 and 75, the coach's list 85, a guardian's 6.

use crate::*;

const START: &str = "2026-11-03T17:30:00+01:00";

on_both_databases! {
    async fn s07_one_practice_counts_once_by_the_best_source_of_each_part(database: Database) {
        let (_server, club, u16) = club_with_squad(database, "2026-11-04T08:00:00+01:00", "U16").await;
        let athlete = u16.athlete("P-18").await;
        let event = u16.event(START, 90).await;
        let app = club.as_role("integration");
        let body = athlete.session(START, 75, 6.5).with("external_id", "app-18").into_body();
        let send = |body: &Value| app.post("sessions", body.clone()).idempotency_key("evening-18");

        let first = send(&body).await.expect(201);
        assert_eq!(first["counted"], json!({ "rpe": 6.5, "minutes": 90, "load_au": 585.0, "from": "schedule" }));
        let day = athlete.day_figures("2026-11-03").await;
        assert_eq!((&day["load_au"], &day["sessions"], &day["state"]), (&json!(585.0), &json!(1), &json!("reported")));

        // The coach's list arrives, then the app sends the report once more, then a guardian's word.
        let listed = athlete.attendance(&event, "present").with("minutes", 85).await.expect(201);
        assert_eq!(listed["warnings"], json!(["minutes_differ"]));
        let again = send(&body).await.expect(201);
        assert_eq!(again.bytes, first.bytes, "the same answer once more");
        let guardian = club.client(Identity::role("guardian").athlete(athlete.id()).client("family-app"));
        let mut theirs = athlete.session(START, 75, 6.0).into_body();
        theirs["given_by"] = json!("guardian");
        let theirs = guardian.post("sessions", theirs).await.expect(201);
        let counted = json!({ "rpe": 6.5, "minutes": 85, "load_au": 552.5, "from": "attendance" });
        assert_eq!((&theirs["rpe"], &theirs["counted"]), (&json!(6.0), &counted), "kept, not used");

        let reports = app.get("sessions").query("athlete", athlete.id()).await.expect(200);
        assert_eq!(reports["items"].as_array().map(Vec::len), Some(2), "no new row for what was sent again");
        for report in reports["items"].as_array().expect("items") {
            assert_eq!((&report["counted"], &report["warnings"]), (&counted, &json!(["minutes_differ"])));
        }
        // Once, not 552.5 + 585 + 450 = 1587.5; what the sources dispute is in the bounds.
        let day = athlete.day_figures("2026-11-03").await;
        assert_eq!(day["load_bounds_au"], json!({ "point": 552.5, "low": 450.0, "high": 585.0 }));
        assert_eq!((&day["sessions"], &day["minutes"]), (&json!(1), &json!(85)));
        assert_eq!(day["acute_7d_au"], json!({ "point": 552.5, "low": 450.0, "high": 585.0, "reason": null }));

        let coach = club.as_role("coach");
        let found = coach.get("contradictions").query("athlete", athlete.id()).await.expect(200);
        assert_eq!(found["items"].as_array().map(Vec::len), Some(1));
        let one = &found["items"][0];
        assert_eq!((&one["why"], &one["planned_minutes"], &one["attended_minutes"]), (&json!(["minutes_differ"]), &json!(90), &json!(85)));
        assert_eq!((&one["counted"], &one["load_au"]), (&counted, &day["load_bounds_au"]));
        assert_eq!(each(&one["reports"], "given_by"), ["athlete", "guardian"]);

        let mut other = body.clone();
        other["rpe"] = json!(7);
        send(&other).await.expect_problem(422, "idempotency_key_reused");
        assert_eq!(athlete.day_figures("2026-11-03").await["load_au"], 552.5);
    }
}
