//! Sources that do not agree: what counts, and that a person finds it listed.

use crate::*;

const DATE: &str = "2026-11-05";

/// A report of the same practice from another system, as the athlete gave it there.
async fn from_watch(athlete: &Athlete, started_at: &str, minutes: u32, rpe: f64) -> Answer {
    let watch = athlete
        .club()
        .client(Identity::role("integration").client("watch-app"));
    let body = athlete.session(started_at, minutes, rpe).into_body();
    watch.post("sessions", body).await.expect(201)
}

fn why(listed: &[Value]) -> Vec<Vec<String>> {
    listed.iter().map(|one| codes(one, "why")).collect()
}

async fn load(athlete: &Athlete, date: &str) -> Value {
    athlete.day_figures(date).await["load_bounds_au"].clone()
}

on_both_databases! {
    async fn a_cancelled_event_keeps_its_report(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let event = squad.event(THURSDAY, 90).with("external_id", "hall-1").await;
        let report = athlete.session(THURSDAY, 70, 6.0).with("event_external_id", "hall-1").await;
        assert_eq!(report["counted"], json!({ "rpe": 6.0, "minutes": 90, "load_au": 540.0, "from": "schedule" }));
        let admin = club.as_role("club_admin");
        let path = format!("events/{}", event.string("event_id"));
        admin.patch(&path, json!({ "status": "cancelled" })).if_match(event.etag()).await.expect(200);
        let app = club.as_role("integration");
        let kept = app.get(format!("sessions/{}", report.string("session_id"))).await.expect(200);
        assert_eq!(kept["counted"], json!({ "rpe": 6.0, "minutes": 70, "load_au": 420.0, "from": "report" }));
        assert_eq!(codes(&kept.body, "warnings"), ["event_cancelled"]);
        let listed = listed(&athlete).await;
        assert_eq!(why(&listed), [["event_cancelled"]]);
        assert_eq!(listed[0]["event_id"], event["event_id"]);
        assert_eq!(open(&athlete, DATE).await, state("reported", 420.0));
        let late = athlete.session("2026-11-05T17:35:00+01:00", 60, 5.0).await;
        assert!(codes(&late.body, "warnings").contains(&"event_cancelled".to_owned()), "{}", late.text());
    }

    async fn a_moved_event_keeps_its_report(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let event = squad.event(THURSDAY, 90).with("external_id", "hall-1").await;
        let report = athlete.session(THURSDAY, 85, 6.0).with("event_external_id", "hall-1").await;
        let admin = club.as_role("club_admin");
        let path = format!("events/{}", event.string("event_id"));
        let later = json!({ "starts_at": "2026-11-05T20:00:00+01:00", "status": "moved" });
        admin.patch(&path, later).if_match("*").await.expect(200);
        assert_eq!(open(&athlete, DATE).await, state("reported", 540.0));
        assert_eq!(listed(&athlete).await, [Value::Null; 0]);

        // On another date it waits for a report of its own; what was reported counts by itself, and somebody is asked.
        let next_day = json!({ "starts_at": "2026-11-06T17:30:00+01:00" });
        admin.patch(&path, next_day).if_match("*").await.expect(200);
        assert_eq!(open(&athlete, DATE).await, state("reported", 510.0));
        assert_eq!(open(&athlete, "2026-11-06").await, state("unlogged", 900.0));
        let listed = listed(&athlete).await;
        assert_eq!(why(&listed), [["event_elsewhere"]]);
        assert_eq!((&listed[0]["load_date"], &listed[0]["reports"][0]["session_id"]), (&json!(DATE), &report["session_id"]));
    }

    async fn attended_says_no_athlete_says_yes(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let event = squad.event(THURSDAY, 90).await;
        let report = athlete.session(THURSDAY, 90, 6.0).await;
        let absent = athlete.attendance(&event, "absent").await.expect(201);
        assert_eq!(codes(&absent.body, "warnings"), ["reported_though_absent"]);
        assert_eq!(open(&athlete, DATE).await, state("reported", 540.0), "the report counts");
        let found = listed(&athlete).await;
        assert_eq!(why(&found), [["reported_though_absent"]]);
        assert_eq!((&found[0]["attendance"], &found[0]["counted"]["load_au"]), (&json!("absent"), &json!(540.0)));

        let confirmed = athlete.attendance(&event, "absent").with("confirmed", true).into_body();
        let confirmed = club.as_role("coach").post("attendance", confirmed).await.expect(200);
        assert_eq!(codes(&confirmed.body, "warnings"), ["set_aside"]);
        assert_eq!(open(&athlete, DATE).await, state("reported", 0.0));
        let kept = athlete.as_caller().get(format!("sessions/{}", report.string("session_id"))).await.expect(200);
        assert_eq!((&kept["rpe"], &kept["counted"]["load_au"]), (&json!(6.0), &json!(0.0)), "set aside, not deleted");
        let found = listed(&athlete).await;
        assert_eq!((why(&found), &found[0]["counted"]), (vec![vec!["set_aside".to_owned()]], &Value::Null));

        athlete.attendance(&event, "present").await.expect(200);
        assert_eq!(open(&athlete, DATE).await, state("reported", 540.0), "corrected, it counts again");
        assert_eq!(listed(&athlete).await, [Value::Null; 0]);
    }

    async fn two_systems_that_report_one_session_count_once(database: Database) {
        let World { athlete, server: _server, .. } = world(database).await;
        athlete.session(THURSDAY, 90, 6.0).await;
        let second = from_watch(&athlete, "2026-11-05T17:40:00+01:00", 80, 7.0).await;
        assert_eq!(codes(&second.body, "warnings"), ["proposed_duplicate"]);
        assert_eq!(load(&athlete, DATE).await, json!({ "point": 560.0, "low": 560.0, "high": 560.0 }));
        let found = listed(&athlete).await;
        assert_eq!(why(&found), [["proposed_duplicate"]]);
        let reports = found[0]["reports"].as_array().expect("reports");
        let counts: Vec<_> = reports.iter().map(|report| (&report["source"], &report["rpe_counts"])).collect();
        assert_eq!(counts, [(&json!("plimsoll-cli"), &json!(false)), (&json!("watch-app"), &json!(true))]);
        // Sixteen minutes apart they are two sessions, which overlap.
        let third = from_watch(&athlete, "2026-11-04T17:46:00+01:00", 60, 5.0).await;
        athlete.session("2026-11-04T17:30:00+01:00", 90, 6.0).await;
        assert_eq!(codes(&third.body, "warnings"), [""; 0]);
        assert_eq!(load(&athlete, "2026-11-04").await, json!({ "point": 840.0, "low": 540.0, "high": 840.0 }));
        assert_eq!(why(&listed(&athlete).await), [["overlaps_other_session"], ["overlaps_other_session"], ["proposed_duplicate"]]);
    }

    async fn the_list_keeps_to_reach_and_comes_in_pages(database: Database) {
        let World { club, squad, athlete, server: _server } = world(database).await;
        let other = club.squad("U18").await;
        let stranger = other.athlete("P-30").await;
        for date in ["2026-11-03", "2026-11-04", "2026-11-05"] {
            let start = format!("{date}T17:30:00+01:00");
            let event = squad.event(&start, 90).await;
            athlete.session(&start, 60, 6.0).await;
            athlete.attendance(&event, "present").with("minutes", 88).await.expect(201);
        }
        let all = club.as_role("coach").get("contradictions").await.expect(200);
        assert_eq!(all["items"].as_array().map(Vec::len), Some(3));
        assert_eq!(all["items"][0]["load_au"], json!({ "point": 528.0, "low": 360.0, "high": 540.0 }));
        let first = club.as_role("coach").get("contradictions").query("limit", 2).await.expect(200);
        let next = first.string("next");
        let rest = club.as_role("coach").get("contradictions").query("limit", 2).query("after", &next).await.expect(200);
        let mut items = first["items"].as_array().expect("items").clone();
        items.extend(rest["items"].as_array().expect("items").clone());
        assert_eq!((json!(items), &rest["next"]), (all["items"].clone(), &Value::Null));
        let outside = club.as_coach_of(&[&other]).get("contradictions").await.expect(200);
        assert_eq!(outside["items"], json!([]));
        let hers = athlete.as_caller().get("contradictions").await.expect(200);
        assert_eq!(hers["items"], all["items"]);
        let path = format!("contradictions?athlete={}", athlete.id());
        stranger.as_caller().get(&path).await.expect_problem(404, "not_found");
        club.as_role("privacy_lead").get(&path).await.expect_problem(403, "role_may_not");
    }
}
