//! S06: midnight, clock changes, a game away in another zone, ISO week 53.

use crate::*;

const NOW: &str = "2027-04-01T12:00:00+02:00";

/// A session from start to end; the harness needs its minutes to say when the rating was given.
async fn report(athlete: &Athlete, from: &str, to: &str, minutes: u32, rpe: f64) -> e2e::Answer {
    let report = athlete.session(from, minutes, rpe);
    report
        .without("minutes")
        .with("ended_at", to)
        .with("kind", "game")
        .await
}

on_both_databases! {
    async fn s06a_a_game_over_new_year_counts_where_it_began(database: Database) {
        let (_server, club, u16) = club_with_squad(database, NOW, "U16").await;
        club.example_policy().await;
        let athlete = u16.athlete("P-06").await;
        let game = report(&athlete, "2026-12-31T23:40:00+01:00", "2027-01-01T00:25:00+01:00", 45, 8.0).await;
        assert_eq!((&game["minutes"], &game["load_date"]), (&json!(45), &json!("2026-12-31")));
        assert_eq!(game["counted"]["load_au"], 360.0);
        let days = athlete.load("2026-12-31", "2027-01-01").await;
        assert_eq!((&days["days"][0]["load_au"], &days["days"][1]["load_au"]), (&json!(360.0), &json!(0.0)));
        assert_eq!(athlete.week_figures("2026-W53").await["load_au"]["point"], 360.0);
    }

    async fn s06a_the_split_policy_parts_it_at_midnight(database: Database) {
        let (_server, club, u16) = club_with_squad(database, NOW, "U16").await;
        club.example_policy().with("midnight", "split").await;
        let athlete = u16.athlete("P-06").await;
        report(&athlete, "2026-12-31T23:40:00+01:00", "2027-01-01T00:25:00+01:00", 45, 8.0).await;
        let days = athlete.load("2026-12-31", "2027-01-01").await;
        assert_eq!((&days["days"][0]["load_au"], &days["days"][1]["load_au"]), (&json!(160.0), &json!(200.0)));
        // Both days belong to the same week, the 53rd.
        assert_eq!(athlete.week_figures("2026-W53").await["load_au"]["point"], 360.0);
    }

    async fn s06bc_minutes_come_from_instants_when_clocks_change(database: Database) {
        let (_server, _, u16) = club_with_squad(database, NOW, "U16").await;
        let athlete = u16.athlete("P-06").await;
        for (from, to, date) in [
            // The wall clock shows the same time at both ends,
            ("2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00", "2026-10-25"),
            // and here two hours between them.
            ("2027-03-28T01:30:00+01:00", "2027-03-28T03:30:00+02:00", "2027-03-28"),
        ] {
            let session = report(&athlete, from, to, 60, 4.0).await;
            assert_eq!((&session["minutes"], &session["load_date"]), (&json!(60), &json!(date)));
            assert_eq!(session["counted"]["load_au"], 240.0);
            assert_eq!(athlete.day_figures(date).await["load_au"], 240.0);
        }
    }

    async fn s06b_the_longest_day_holds_1500_minutes(database: Database) {
        let (_server, _, u16) = club_with_squad(database, NOW, "U16").await;
        let athlete = u16.athlete("P-06").await;
        for (started_at, minutes) in [
            ("2026-10-25T00:00:00+02:00", 600), ("2026-10-25T09:00:00+01:00", 600), ("2026-10-25T19:00:00+01:00", 300),
        ] {
            athlete.session(started_at, minutes, 1.0).await;
        }
        assert_eq!(athlete.day_figures("2026-10-25").await["minutes"], 1500);
        let more = athlete.session("2026-10-25T23:00:00+01:00", 1, 1.0).into_request().await.expect_problem(422, "invalid");
        assert_eq!(more["errors"][0]["code"], "day_full");
    }

    async fn s06d_away_the_date_is_that_of_the_place(database: Database) {
        let (_server, _, u16) = club_with_squad(database, NOW, "U16").await;
        // The offset is written; or the zone is named and the instant in UTC.
        let places = [
            ("P-1", "2026-09-27T23:30:00+01:00", None),
            ("P-2", "2026-09-27T22:30:00Z", Some("Atlantic/Faroe")),
        ];
        for (code, started_at, zone) in places {
            let athlete = u16.athlete(code).await;
            let mut game = athlete.session(started_at, 50, 8.0);
            if let Some(zone) = zone {
                game = game.with("time_zone", zone);
            }
            let game = game.await;
            assert_eq!((&game["load_date"], &game["warnings"]), (&json!("2026-09-27"), &json!([])), "{code}");
            assert_eq!(athlete.week_figures("2026-W39").await["load_au"]["point"], 400.0, "{code}");
            assert_eq!(athlete.week_figures("2026-W40").await["load_au"]["point"], 0.0, "{code}");
        }
    }

    async fn s06d_a_bare_z_takes_the_home_zone_and_says_so(database: Database) {
        let (_server, _, u16) = club_with_squad(database, NOW, "U16").await;
        let athlete = u16.athlete("P-06").await;
        let game = athlete.session("2026-09-27T22:30:00Z", 50, 8.0).await;
        assert_eq!((&game["load_date"], &game["warnings"]), (&json!("2026-09-28"), &json!(["zone_assumed"])));
    }

    async fn s06e_local_times_that_happen_twice_or_never_are_refused(database: Database) {
        let (_server, _, u16) = club_with_squad(database, NOW, "U16").await;
        let athlete = u16.athlete("P-06").await;
        let local = |text: &'static str, offset: &str| {
            let report = athlete.session(&format!("{text}:00{offset}"), 60, 4.0);
            report.with("started_at", text).with("time_zone", "Europe/Copenhagen").into_request()
        };
        let twice = local("2026-10-25T02:30", "+01:00").await.expect_problem(422, "invalid");
        let error = &twice["errors"][0];
        assert_eq!((&error["pointer"], &error["code"]), (&json!("/started_at"), &json!("ambiguous_local_time")));
        let allowed = error["allowed"].as_str().expect("both instants");
        assert!(allowed.contains("2026-10-25T02:30:00+02") && allowed.contains("2026-10-25T02:30:00+01"), "{allowed}");

        let never = local("2027-03-28T02:30", "+01:00").await.expect_problem(422, "invalid");
        let error = &never["errors"][0];
        assert_eq!((&error["pointer"], &error["code"]), (&json!("/started_at"), &json!("nonexistent_local_time")));
        assert!(!error["detail"].as_str().expect("a detail").contains("+0"), "no instant is offered: {error}");
        assert_eq!(athlete.load("2026-10-25", "2026-10-25").await["days"][0]["sessions"], 0);
    }
}
