//! S09: the margin to the club's limit in a running week, on Thursday evening, with three games on Saturday and two on Sunday.

use crate::*;

const THURSDAY_EVENING: &str = "2026-11-05T20:00:00+01:00";

const LOADS: [f64; 32] = [
    300.0, 150.0, 300.0, 450.0, 0.0, 500.0, 0.0, // 5-11 October 2026
    360.0, 225.0, 0.0, 450.0, 225.0, 540.0, 0.0, // 12-18 October
    450.0, 225.0, 0.0, 450.0, 225.0, 540.0, 0.0, // 19-25 October
    225.0, 225.0, 0.0, 300.0, 225.0, 700.0, 775.0, // 26 October-1 November
    540.0, 225.0, 0.0, 630.0, // 2-5 November
];

/// P-21, her loads up to `days`, and the games that are fixed.
async fn athlete(database: Database, now: &str, days: usize) -> (Server, Squad, Athlete) {
    let (server, club, squad) = club_with_squad(database, now, "U18").await;
    club.example_policy().await;
    let athlete = squad.athlete("P-21").with("joined_on", "2026-10-05").await;
    store(&club, athlete.days("2026-10-05", &LOADS[..days])).await;
    for (start, rpe) in [
        ("07T10:00", 7),
        ("07T11:00", 7),
        ("07T12:00", 7),
        ("08T10:00", 8),
        ("08T11:00", 8),
    ] {
        let game = json!({
            "setting": "club", "kind": "game", "starts_at": format!("2026-11-{start}:00+01:00"), "minutes": 30,
            "intended_rpe": rpe, "fixed": true, "squads": [squad.id()],
        });
        club.as_role("integration")
            .post("events", game)
            .await
            .expect(201);
    }
    (server, squad, athlete)
}

async fn margin(squad: &Squad, athlete: &Athlete) -> e2e::Answer {
    let path = format!("athletes/{}/margin", athlete.id());
    let coach = squad.club().as_coach_of(&[squad]);
    coach.get(path).query("rpe", 5).await.expect(200)
}

on_both_databases! {
    async fn s09_week_view_and_rolling_view(database: Database) {
        let (_server, squad, athlete) = athlete(database, THURSDAY_EVENING, 32).await;
        let found = margin(&squad, &athlete).await;
        assert_eq!((&found["week"], &found["done_until"]), (&json!("2026-W45"), &json!("2026-11-05")));
        assert_eq!(found["limit"], json!({ "ratio_kind": "coupled", "limit": 1.5, "source_note": found["limit"]["source_note"] }));
        assert_exact(&found["done_au"], "1395");
        assert_exact(&found["limit_au"], "3684");
        assert_exact(&found["left_au"], "2289");
        assert_exact(&found["left_after_fixed_au"], "1179");
        assert_eq!(found["left_after_fixed_minutes"], 235);
        let rolling = found["rolling"].as_array().expect("days");
        let dates: Vec<&str> = rolling.iter().filter_map(|day| day["date"].as_str()).collect();
        assert_eq!(dates, ["2026-11-06", "2026-11-07", "2026-11-08"]);
        assert_exact(&rolling[0]["left_au"], "229");
        assert_eq!(rolling[0]["minutes"], 45);
        // Saturday alone: the least of 1049 - 630 and 2289 - 1110.
        assert_exact(&rolling[1]["left_au"], "419");
        assert_exact(&rolling[2]["left_au"], "1179");
        assert_eq!(rolling[2]["minutes"], 155, "no more than her highest day, 775 AU");
        let fixed = found["fixed"].as_array().expect("games").iter();
        assert_eq!(fixed.filter_map(|game| game["load_au"].as_f64()).collect::<Vec<_>>(), [210.0, 210.0, 210.0, 240.0, 240.0]);
        assert_eq!(found["own_highest_day_au"], 775.0);
        assert!(found["note"].as_str().is_some_and(|note| note.starts_with("Not a target")), "{}", found.text());
        assert_eq!(found["age_note"], Value::Null);
    }

    async fn s09_athletes_and_guardians_never_see_it(database: Database) {
        let (_server, squad, athlete) = athlete(database, THURSDAY_EVENING, 32).await;
        let path = format!("athletes/{}/margin", athlete.id());
        let club = squad.club();
        for family in [athlete.as_caller(), club.as_guardian_of(&[&athlete])] {
            family.get(&path).await.expect_problem(403, "role_may_not");
        }
        let audit = club.as_role("privacy_lead").get("audit").await.expect(200);
        assert!(!audit.text().contains("read_margin"), "{}", audit.text());
        margin(&squad, &athlete).await;
        let audit = club.as_role("privacy_lead").get("audit").await.expect(200);
        assert_eq!(audit.text().matches("read_margin").count(), 1, "{}", audit.text());
    }

    async fn s09_before_practice_the_day_is_not_done(database: Database) {
        let (_server, squad, athlete) = athlete(database, "2026-11-05T12:00:00+01:00", 31).await;
        let practice = json!({
            "setting": "club", "kind": "practice", "starts_at": "2026-11-05T17:30:00+01:00", "minutes": 90, "squads": [squad.id()],
        });
        squad.club().as_role("integration").post("events", practice).await.expect(201);
        let found = margin(&squad, &athlete).await;
        assert_eq!(found["done_until"], "2026-11-04");
        assert_exact(&found["done_au"], "765");
        assert_exact(&found["left_after_fixed_au"], "1809");
        assert_eq!(found["rolling"][0]["date"], "2026-11-05");
        // What is logged of the day so far is fixed.
        athlete.session("2026-11-05T07:00:00+01:00", 30, 5.0).await;
        assert_exact(&margin(&squad, &athlete).await["left_after_fixed_au"], "1659");
    }

    async fn s09_a_session_that_is_answered_is_no_longer_to_come(database: Database) {
        let (_server, squad, athlete) = athlete(database, "2026-11-05T18:00:00+01:00", 31).await;
        let practice = json!({
            "setting": "club", "kind": "practice", "starts_at": "2026-11-05T17:30:00+01:00", "minutes": 90, "squads": [squad.id()],
        });
        squad.club().as_role("integration").post("events", practice).await.expect(201);
        assert_eq!(margin(&squad, &athlete).await["done_until"], "2026-11-04");
        // She went home after 20 minutes and says so at once; the planned 90 stay possible until a person settles it.
        athlete.session("2026-11-05T17:30:00+01:00", 20, 5.0).with("basis", "took_part").await;
        let found = margin(&squad, &athlete).await;
        assert_eq!(found["done_until"], "2026-11-05");
        assert_eq!(found["done_au"], json!({ "point": 865.0, "low": 865.0, "high": 1215.0 }));
        assert_eq!(found["left_after_fixed_au"]["low"], 1359.0);
        assert_eq!(found["left_after_fixed_minutes"], 270, "by the low end");
    }

    async fn s09_only_the_running_week_has_a_margin(database: Database) {
        let (mut server, squad, athlete) = athlete(database, THURSDAY_EVENING, 32).await;
        let coach = squad.club().as_role("coach");
        let path = format!("athletes/{}/margin", athlete.id());
        assert_eq!(coach.get(&path).query("week", "2026-W45").await.expect(200)["rpe"], Value::Null);
        let refused = coach.get(&path).query("week", "2026-W46").await.expect_problem(422, "invalid");
        assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!("?week"), &json!("out_of_range")));
        // A Sunday that is over leads into the next week.
        server.restart_at("2026-11-08T20:00:00+01:00").await;
        assert_eq!(coach.get(&path).await.expect(200)["week"], "2026-W46");
    }
}
