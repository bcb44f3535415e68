//! Reports that come or change late: for 14 days by everyone who may enter them, later by staff with a reason.

use crate::*;

/// More than 14 days before the morning of 9 November, and the last date that is not.
const CLOSED: &str = "2026-10-25T10:00:00+01:00";
const OPEN: &str = "2026-10-26T10:00:00+01:00";

on_both_databases! {
    async fn a_late_correction_takes_staff_and_a_reason(database: Database) {
        let World { club, athlete, server: _server, .. } = world(database).await;
        let own = athlete.as_caller();
        let still_open = athlete.session(OPEN, 60, 6.0).await;
        assert_eq!(still_open["can_change_until"], "2026-11-09");
        let path = format!("sessions/{}", still_open.string("session_id"));
        assert_eq!(own.patch(&path, json!({ "rpe": 5 })).if_match("*").await.expect(200)["rpe"], 5.0);

        let closed = athlete.session(CLOSED, 60, 6.0).await;
        let path = format!("sessions/{}", closed.string("session_id"));
        let change = json!({ "rpe": 5 });
        let with_reason = json!({ "rpe": 5, "reason": "typed 6 for 5" });
        let needs = [("/reason", "reason_required")];
        own.patch(&path, change.clone()).if_match("*").await.expect_faults(&needs);
        own.patch(&path, with_reason.clone()).if_match("*").await.expect_faults(&needs);
        club.as_guardian_of(&[&athlete]).patch(&path, with_reason.clone()).if_match("*").await.expect_faults(&needs);
        let reason = r#"{"reason": "entered twice"}"#;
        own.delete(&path).if_match("*").body("application/json", reason).await.expect_faults(&needs);
        let staff = club.as_role("integration");
        staff.patch(&path, change).if_match("*").await.expect_faults(&needs);
        staff.patch(&path, json!({ "rpe": 5, "reason": "" })).if_match("*").await.expect_faults(&[("/reason", "text_empty")]);
        assert_eq!(athlete.day_figures("2026-10-25").await["load_au"], 360.0, "nothing changed");

        let changed = staff.patch(&path, with_reason).if_match("*").await.expect(200);
        assert_eq!((&changed["rpe"], &changed["reason"], &changed["version"]), (&json!(5.0), &json!("typed 6 for 5"), &json!(2)));
        assert_eq!(athlete.day_figures("2026-10-25").await["load_au"], 300.0);
        let body = athlete.session(CLOSED, 60, 7.0).into_body();
        let bulk = club.bulk(vec![body]).await.expect(200);
        assert_eq!(bulk["results"][0]["problems"][0]["code"], "reason_required", "a bulk row is no way round it");
        staff.delete(&path).if_match("*").body("application/json", reason).await.expect(204);
        assert_eq!(athlete.day_figures("2026-10-25").await["load_au"], 0.0);
    }

    async fn a_rating_of_long_ago_takes_staff_and_a_reason(database: Database) {
        let World { club, athlete, server: _server, .. } = world(database).await;
        let late = athlete.session(CLOSED, 60, 6.0).with("given_at", "2026-11-09T07:00:00+01:00");
        let body = late.into_body();
        athlete.as_caller().post("sessions", body.clone()).await.expect_faults(&[("/reason", "reason_required")]);
        let mut explained = body;
        explained["reason"] = json!("found on a sheet");
        athlete.as_caller().post("sessions", explained.clone()).await.expect_faults(&[("/reason", "reason_required")]);
        let entered = club.as_role("integration").post("sessions", explained).await.expect(201);
        assert_eq!(codes(&entered.body, "warnings"), ["late_recall"]);
    }
}
