//! S10: the first week of the half-year plan, looked at on its Monday morning: four weeks of 550 AU lie behind it, 2025 AU are planned,
//! and the limit is 990.

use crate::*;

const MONDAY: &str = "2026-08-03T08:00:00+02:00";

async fn plan(athlete: &Athlete, kind: &str, date: &str, minutes: u32, rpe: Option<f64>) -> String {
    let event = json!({
        "setting": "club", "kind": kind, "starts_at": format!("{date}T17:30:00+02:00"), "minutes": minutes,
        "intended_rpe": rpe, "athletes": [athlete.id()],
    });
    let app = athlete.club().as_role("integration");
    app.post("events", event)
        .await
        .expect(201)
        .string("event_id")
}

async fn club_with_history(database: Database) -> (Server, Club, Squad, Athlete) {
    let (server, club, squad) = club_with_squad(database, MONDAY, "U18").await;
    club.example_policy().await;
    let athlete = squad.athlete("P-09").with("joined_on", "2026-07-06").await;
    let days = [0.0, 200.0, 0.0, 200.0, 0.0, 150.0, 0.0].repeat(4);
    store(&club, athlete.days("2026-07-06", &days)).await;
    (server, club, squad, athlete)
}

async fn ahead(squad: &Squad, week: &str) -> Value {
    let coach = squad.club().as_role("coach");
    let list = coach
        .get(format!("squads/{}/weeks/{week}", squad.id()))
        .await;
    list.expect(200)["ahead"].clone()
}

on_both_databases! {
    async fn s10_who_will_be_over_if_the_planned_sessions_happen(database: Database) {
        let (mut server, club, squad, athlete) = club_with_history(database).await;
        assert_eq!(ahead(&squad, "2026-W31").await, json!([]), "nothing is planned yet");
        for (day, minutes) in [(3, 90), (4, 45), (5, 90), (6, 90), (7, 45), (8, 45)] {
            plan(&athlete, "practice", &format!("2026-08-0{day}"), minutes, Some(5.0)).await;
        }
        let found = ahead(&squad, "2026-W31").await;
        let exactly = |au: f64| json!({ "low": au, "high": au });
        assert_eq!(found, json!([{
            "athlete_id": athlete.id(), "display_name": "P-09", "rule": "week_end_ratio", "certainty": "certain",
            "limit_au": exactly(990.0), "planned_au": exactly(2025.0), "over_by_au": exactly(1035.0),
            "planned_sessions": 6, "without_intended_rpe": 0,
            "sentence": "If the 6 sessions planned for 2026-W32 happen, the week comes to 2025 AU, \
                1035 AU above the club limit of 990 AU.",
        }]));
        // On days away nothing is planned: three sessions are left, 450 + 225 + 450.
        let absence = json!({ "athlete_id": athlete.id(), "from": "2026-08-06", "to": "2026-08-09", "category": "exams" });
        club.as_role("integration").post("absences", absence).await.expect(201);
        let found = ahead(&squad, "2026-W31").await;
        assert_eq!((&found[0]["planned_au"], &found[0]["over_by_au"]), (&exactly(1125.0), &exactly(135.0)));
        // A list looks ahead into the running week only.
        server.restart_at("2026-08-10T08:00:00+02:00").await;
        assert_eq!(ahead(&squad, "2026-W31").await, Value::Null);
        assert_eq!(ahead(&squad, "2026-W32").await, json!([]));
    }

    async fn s10_a_session_without_a_planned_effort_leaves_a_range(database: Database) {
        let (_server, _club, squad, athlete) = club_with_history(database).await;
        plan(&athlete, "practice", "2026-08-03", 90, Some(5.0)).await;
        plan(&athlete, "game", "2026-08-05", 90, None).await;
        let found = ahead(&squad, "2026-W31").await;
        assert_eq!((&found[0]["certainty"], &found[0]["without_intended_rpe"]), (&json!("possible"), &json!(1)));
        assert_eq!(found[0]["planned_au"], json!({ "low": 450.0, "high": 1350.0 }), "a game was never rated");
        assert_eq!(found[0]["over_by_au"], json!({ "low": -540.0, "high": 360.0 }));
        // Twelve practices were rated 10, so 10 is usual: 100 AU in 10 minutes.
        plan(&athlete, "practice", "2026-08-06", 10, None).await;
        let found = ahead(&squad, "2026-W31").await;
        assert_eq!(found[0]["planned_au"], json!({ "low": 550.0, "high": 1450.0 }));
        assert_eq!(found[0]["without_intended_rpe"], 2);
        let said = found[0]["sentence"].as_str().expect("a sentence");
        for part in ["the athlete's usual range was taken.", "anything up to session RPE 10 was taken."] {
            assert!(said.contains(part), "{said}");
        }
    }
}
