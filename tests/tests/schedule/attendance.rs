//! Attendance: what answers for a session, what is measured, what is refused.

use crate::*;

const DATE: &str = "2026-11-05";

on_both_databases! {
    async fn an_absence_on_the_list_answers(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let event = squad.event(THURSDAY, 90).await;
        let absent = athlete.attendance(&event, "absent").await.expect(201);
        assert_eq!((&absent["status"], &absent["given_by"], &absent["version"]), (&json!("absent"), &json!("coach"), &json!(1)));
        assert_eq!(open(&athlete, DATE).await, state("reported", 0.0));
        let again = athlete.attendance(&event, "absent").await.expect(200);
        assert_eq!(again.body, absent.body, "the same word changes nothing");
        let unknown = athlete.attendance(&event, "unknown").await.expect(200);
        assert_eq!(unknown["version"], 2);
        assert_eq!(open(&athlete, DATE).await, state("unlogged", 900.0));

        athlete.attendance(&event, "absent").await.expect(200);
        let path = format!("attendance/{}", absent.string("attendance_id"));
        let coach = club.as_role("coach");
        let entry = coach.get(&path).await.expect(200);
        coach.delete(&path).await.expect_problem(428, "precondition_required");
        coach.delete(&path).if_match(absent.etag()).await.expect_problem(412, "precondition_failed");
        coach.delete(&path).if_match(entry.etag()).await.expect(204);
        coach.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(open(&athlete, DATE).await, state("unlogged", 900.0));
    }

    async fn minutes_on_the_list_bound_what_is_unlogged(database: Database) {
        let World { squad, athlete, server: _server, .. } = world(database).await;
        let event = squad.event(THURSDAY, 90).await;
        let partial = athlete.attendance(&event, "partial").await.expect(201);
        assert_eq!(codes(&partial.body, "warnings"), ["partial_without_minutes"]);
        assert_eq!(open(&athlete, DATE).await, state("unlogged", 900.0));
        let partial = athlete.attendance(&event, "partial").with("minutes", 40).await.expect(200);
        assert_eq!(codes(&partial.body, "warnings"), [""; 0]);
        assert_eq!(open(&athlete, DATE).await, state("unlogged", 400.0));
        let report = athlete.session(THURSDAY, 40, 6.0).with("basis", "took_part").await;
        assert_eq!(report["counted"], json!({ "rpe": 6.0, "minutes": 40, "load_au": 240.0, "from": "attendance" }));
    }

    async fn somebody_not_expected_may_have_been_there(database: Database) {
        let World { club, squad, server: _server, .. } = world(database).await;
        let guest = club.squad("U18").await.athlete("P-30").await;
        let event = squad.event(THURSDAY, 90).await;
        assert_eq!(open(&guest, DATE).await, state("assumed_rest", 0.0));
        let present = guest.attendance(&event, "present").await.expect(201);
        assert_eq!(codes(&present.body, "warnings"), ["not_expected"]);
        assert_eq!(open(&guest, DATE).await, state("unlogged", 900.0), "who was there has something to report");
        let absent = guest.attendance(&event, "absent").await.expect(200);
        assert_eq!(codes(&absent.body, "warnings"), ["not_expected"]);
        assert_eq!(open(&guest, DATE).await, state("assumed_rest", 0.0));
    }

    async fn an_entry_is_refused_for_each_of_its_faults(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let event = squad.event(THURSDAY, 90).with("external_id", "hall-1").await;
        let coach = club.as_role("coach");
        let entry = |status: &str| athlete.attendance(&event, status);
        for (draft, pointer, code) in [
            (entry("there"), "/status", "unknown_value"),
            (entry("present").with("minutes", 121), "/minutes", "minutes_out_of_range"),
            (entry("present").with("minutes", 0), "/minutes", "minutes_out_of_range"),
            (entry("absent").with("minutes", 30), "/minutes", "not_attended"),
            (entry("present").with("confirmed", true), "/confirmed", "not_attended"),
            (entry("present").with("event_id", e2e::FREE_ID), "/event_id", "unknown_event"),
            (entry("present").without("event_id"), "/event_id", "missing_field"),
            (entry("present").with("event_external_id", "hall-1"), "/event_id", "ambiguous_event"),
            (entry("present").without("event_id").with("event_external_id", "hall-9"), "/event_external_id", "unknown_event"),
            (entry("present").with("athlete_id", e2e::FREE_ID), "/athlete_id", "unknown_person"),
            (entry("present").with("given_by", "athlete"), "/given_by", "unknown_value"),
        ] {
            coach.post("attendance", draft.into_body()).await.expect_faults(&[(pointer, code)]);
        }
        let longest = entry("present").with("minutes", 120).into_body();
        assert_eq!(coach.post("attendance", longest).await.expect(201)["minutes"], 120, "30 more than planned");
    }
}
