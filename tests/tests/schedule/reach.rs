//! Whose schedule a caller sees, and who keeps it.

use crate::*;

on_both_databases! {
    async fn everybody_sees_the_schedule_of_their_own(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let older = club.squad("U18").await;
        let other = older.athlete("P-30").await;
        let own = squad.event(THURSDAY, 90).await;
        let theirs = older.event("2026-11-05T19:00:00+01:00", 90).await;
        let called = older.event("2026-11-06T19:00:00+01:00", 90).with("athletes", json!([athlete.id()])).await;
        let present = other.attendance(&called, "present").await.expect(201);
        for caller in [athlete.as_caller(), club.as_guardian_of(&[&athlete])] {
            let list = caller.get("events").await.expect(200);
            let items = list["items"].as_array().expect("items");
            let seen: Vec<_> = items.iter().map(|event| &event["event_id"]).collect();
            assert_eq!(seen, [&own["event_id"], &called["event_id"]]);
            caller.get(format!("events/{}", theirs.string("event_id"))).await.expect_problem(404, "not_found");
            caller.get(format!("attendance/{}", present.string("attendance_id"))).await.expect_problem(404, "not_found");
            caller.get("attendance").query("athlete", other.id()).await.expect_problem(404, "not_found");
            assert_eq!(caller.get("attendance").await.expect(200)["items"], json!([]));
            caller.post("events", squad.event(THURSDAY, 60).into_body()).await.expect_problem(403, "role_may_not");
            let path = format!("events/{}", own.string("event_id"));
            caller.delete(&path).if_match("*").await.expect_problem(403, "role_may_not");
            let entry = athlete.attendance(&own, "absent").into_body();
            caller.post("attendance", entry).await.expect_problem(403, "role_may_not");
        }
        let named = other.as_caller().get(format!("events/{}", called.string("event_id"))).await.expect(200);
        assert_eq!(named["athletes"], json!([]), "names beyond one's reach are left out");
    }

    async fn a_coach_keeps_the_schedule_of_her_squads(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let older = club.squad("U18").await;
        let other = older.athlete("P-30").await;
        let coach = club.as_coach_of(&[&squad]);
        let theirs = older.event(THURSDAY, 90).await;
        let both = squad.event(THURSDAY, 90).with("squads", json!([squad.id(), older.id()])).await;
        coach.get(format!("events/{}", theirs.string("event_id"))).await.expect_problem(404, "not_found");
        coach.post("events", older.event(THURSDAY, 60).into_body()).await.expect_faults(&[("/squads/0", "unknown_squad")]);
        let named = squad.event(THURSDAY, 60).with("athletes", json!([other.id()])).into_body();
        coach.post("events", named).await.expect_faults(&[("/athletes/0", "unknown_person")]);
        let path = format!("events/{}", both.string("event_id"));
        coach.get(&path).await.expect(200);
        coach.patch(&path, json!({ "minutes": 60 })).if_match("*").await.expect_problem(403, "role_may_not");
        coach.delete(&path).if_match("*").await.expect_problem(403, "role_may_not");
        coach.post("attendance", other.attendance(&both, "absent").into_body()).await.expect_faults(&[("/athlete_id", "unknown_person")]);
        coach.post("attendance", other.attendance(&theirs, "absent").into_body()).await
            .expect_faults(&[("/event_id", "unknown_event"), ("/athlete_id", "unknown_person")]);
        coach.post("attendance", athlete.attendance(&both, "absent").into_body()).await.expect(201);
        let own = coach.post("events", squad.event("2026-11-06T17:30:00+01:00", 60).into_body()).await.expect(201);
        coach.delete(format!("events/{}", own.string("event_id"))).if_match(own.etag()).await.expect(204);
    }

    async fn another_clubs_schedule_is_as_absent(database: Database) {
        let World { server, club, squad, athlete } = world(database).await;
        let event = squad.event(THURSDAY, 90).await;
        let entry = athlete.attendance(&event, "absent").await.expect(201);
        let foreign = server.club("Fjordby Handball").await;
        let app = foreign.as_role("integration");
        app.get(format!("events/{}", event.string("event_id"))).await.expect_problem(404, "not_found");
        app.get(format!("attendance/{}", entry.string("attendance_id"))).await.expect_problem(404, "not_found");
        app.get(format!("/v1/clubs/{}/events", club.id())).await.expect_problem(404, "not_found");
        app.get(format!("/v1/clubs/{}/contradictions", club.id())).await.expect_problem(404, "not_found");
        assert_eq!(app.get("events").await.expect(200)["items"], json!([]));
        let own = foreign.squad("U16").await;
        let stolen = own.event(THURSDAY, 90).with("athletes", json!([athlete.id()])).into_body();
        app.post("events", stolen).await.expect_faults(&[("/athletes/0", "unknown_person")]);
        app.post("attendance", athlete.attendance(&event, "present").into_body()).await
            .expect_faults(&[("/event_id", "unknown_event"), ("/athlete_id", "unknown_person")]);
    }
}
