//! Whom an event is expected of, and from when it is unlogged.

use crate::*;

const DATE: &str = "2026-11-05";

on_both_databases! {
    async fn expected_are_the_members_of_its_date_and_those_named(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let older = club.squad("U18").await;
        let other = older.athlete("P-30").await;
        let unlogged = state("unlogged", 900.0);
        let nothing = state("assumed_rest", 0.0);
        let event = squad.event(THURSDAY, 90).with("athletes", json!([other.id()])).await;
        assert_eq!((open(&athlete, DATE).await, open(&other, DATE).await), (unlogged.clone(), unlogged.clone()));

        let admin = club.as_role("club_admin");
        let path = format!("events/{}", event.string("event_id"));
        admin.patch(&path, json!({ "athletes": [] })).if_match("*").await.expect(200);
        assert_eq!(open(&other, DATE).await, nothing, "no longer invited");
        let members = format!("squads/{}/members", squad.id());
        let guest = json!({ "athlete_id": other.id(), "role": "guest", "from": DATE, "to": DATE });
        let guest = admin.post(&members, guest).await.expect(201);
        assert_eq!(open(&other, DATE).await, unlogged, "a guest of that day");
        let membership = format!("{members}/{}", guest.string("membership_id"));
        let shifted = json!({ "from": "2026-11-06", "to": "2026-11-06" });
        let guest = admin.patch(&membership, shifted).if_match(guest.etag()).await.expect(200);
        assert_eq!(open(&other, DATE).await, nothing, "a guest of the day after");
        admin.delete(&membership).if_match(guest.etag()).await.expect(204);

        let home = squad.event("2026-11-04T17:00:00+01:00", 45).with("setting", "prescribed_home").with("kind", "strength").await;
        assert_eq!(open(&athlete, "2026-11-04").await, state("unlogged", 450.0));
        let path = format!("events/{}", home.string("event_id"));
        admin.patch(&path, json!({ "starts_at": "2026-11-03T17:00:00+01:00", "status": "moved" })).if_match(home.etag()).await.expect(200);
        assert_eq!((open(&athlete, "2026-11-04").await, open(&athlete, "2026-11-03").await), (nothing.clone(), state("unlogged", 450.0)));
        admin.patch(&path, json!({ "status": "cancelled" })).if_match("*").await.expect(200);
        assert_eq!(open(&athlete, "2026-11-03").await, nothing, "nobody is expected at a cancelled session");
        admin.patch(&path, json!({ "status": "held" })).if_match("*").await.expect(200);
        assert_eq!(open(&athlete, "2026-11-03").await, state("unlogged", 450.0));
    }

    async fn a_session_is_unlogged_from_its_planned_end_on(database: Database) {
        let World { mut server, club, squad, athlete } = world(database).await;
        squad.event("2026-11-09T18:00:00+01:00", 90).await;
        let planned = state("assumed_rest", 0.0);
        let unlogged = state("unlogged", 900.0);
        assert_eq!(open(&athlete, "2026-11-09").await, planned, "in the morning");
        server.restart_at("2026-11-09T19:25:00+01:00").await;
        assert_eq!(open(&athlete, "2026-11-09").await, planned, "while it goes on");
        server.restart_at("2026-11-09T19:30:00+01:00").await;
        assert_eq!(open(&athlete, "2026-11-09").await, unlogged, "when it is over");

        let coach = club.as_role("coach");
        let path = format!("athletes/{}/load?from=2026-11-09&to=2026-11-09", athlete.id());
        let then = coach.get(&path).query("as_of", "2026-11-09T19:29:59+01:00").await.expect(200);
        assert_eq!(then["days"][0]["state"], "assumed_rest");
        let then = coach.get(&path).query("as_of", "2026-11-09T19:30:00+01:00").await.expect(200);
        assert_eq!((&then["days"][0]["state"], &then["days"][0]["load_bounds_au"]["high"]), (&json!("unlogged"), &json!(900.0)));
        athlete.session("2026-11-09T18:00:00+01:00", 80, 7.0).with("given_at", Value::Null).await;
        assert_eq!(open(&athlete, "2026-11-09").await, state("reported", 630.0), "the planned 90 minutes count");
    }

    async fn rest_and_absence_answer_for_what_was_expected(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        squad.event(THURSDAY, 90).await;
        squad.event("2026-11-06T17:30:00+01:00", 90).await;
        athlete.rest(DATE).await;
        assert_eq!(open(&athlete, DATE).await, state("rest_declared", 0.0));
        let absence = json!({ "athlete_id": athlete.id(), "from": "2026-11-06", "to": "2026-11-07", "category": "holiday" });
        let absence = club.as_role("integration").post("absences", absence).await.expect(201);
        assert_eq!(open(&athlete, "2026-11-06").await, state("absence", 0.0));
        let path = format!("absences/{}", absence.string("absence_id"));
        club.as_role("integration").delete(&path).if_match(absence.etag()).await.expect(204);
        assert_eq!(open(&athlete, "2026-11-06").await, state("unlogged", 900.0));
    }

    async fn two_sessions_of_a_day_are_open_one_by_one(database: Database) {
        let World { squad, athlete, server: _server, .. } = world(database).await;
        squad.event("2026-11-05T08:00:00+01:00", 60).with("setting", "pe").with("kind", "other").await;
        squad.event(THURSDAY, 90).await;
        assert_eq!(open(&athlete, DATE).await, state("unlogged", 1500.0));
        athlete.session(THURSDAY, 90, 6.0).await;
        assert_eq!(open(&athlete, DATE).await, state("partly_reported", 1140.0));
        athlete.session("2026-11-05T08:05:00+01:00", 55, 4.0).with("setting", "pe").with("kind", "other").await;
        assert_eq!(open(&athlete, DATE).await, state("reported", 780.0));
    }
}
