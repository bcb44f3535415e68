//! S01: one week in all settings, P-07, U16, 2026-W37.

use crate::*;

async fn the_week(athlete: &Athlete) {
    for (started_at, minutes, rpe, setting, kind) in [
        ("2026-09-07T10:00:00+02:00", 60, 4.0, "pe", "other"),
        ("2026-09-07T17:30:00+02:00", 90, 6.0, "club", "practice"),
        (
            "2026-09-08T16:00:00+02:00",
            45,
            5.0,
            "prescribed_home",
            "strength",
        ),
        (
            "2026-09-09T15:00:00+02:00",
            75,
            6.0,
            "school_team",
            "practice",
        ),
        ("2026-09-10T17:30:00+02:00", 90, 7.0, "club", "practice"),
        ("2026-09-12T13:00:00+02:00", 80, 8.5, "club", "game"),
        ("2026-09-13T11:00:00+02:00", 30, 1.5, "free", "other"),
    ] {
        let report = athlete.session(started_at, minutes, rpe);
        report.with("setting", setting).with("kind", kind).await;
    }
    athlete.rest("2026-09-11").await;
}

on_both_databases! {
    async fn s01_days_and_figures_of_the_sunday(database: Database) {
        let (_server, club, u16) = club_with_squad(database, "2026-09-14T08:00:00+02:00", "U16").await;
        club.example_policy().await;
        let athlete = u16.athlete("P-07").with("joined_on", "2026-08-17").await;
        the_week(&athlete).await;

        let answer = athlete.load("2026-09-07", "2026-09-13").await;
        let days = answer["days"].as_array().expect("days");
        let loads: Vec<f64> = days.iter().filter_map(|day| day["load_au"].as_f64()).collect();
        assert_eq!(loads, [780.0, 225.0, 450.0, 630.0, 0.0, 680.0, 45.0]);
        let states: Vec<&str> = days.iter().filter_map(|day| day["state"].as_str()).collect();
        let reported = "reported";
        assert_eq!(states, [reported, reported, reported, reported, "rest_declared", reported, reported]);

        let sunday = &days[6];
        assert_exact(&sunday["acute_7d_au"], "2810");
        assert_printed(&sunday["monotony"]["sample"]["point"], "1.2749");
        assert_printed(&sunday["monotony"]["population"]["point"], "1.3771");
        assert_printed(&sunday["strain_au"]["sample"]["point"], "3582.55");
        assert_printed(&sunday["strain_au"]["population"]["point"], "3869.59");
        assert_eq!(sunday["monotony"]["reason"], Value::Null);
    }

    async fn s01_week_and_shares(database: Database) {
        let (_server, club, u16) = club_with_squad(database, "2026-09-14T08:00:00+02:00", "U16").await;
        club.example_policy().await;
        let athlete = u16.athlete("P-07").with("joined_on", "2026-08-17").await;
        the_week(&athlete).await;

        let week = athlete.week_figures("2026-W37").await;
        assert_eq!(week["load_au"], json!({ "point": 2810.0, "low": 2810.0, "high": 2810.0 }));
        assert_eq!(week["minutes"], 470);
        assert_printed(&week["hours"], "7.8333");
        assert_printed(&week["monotony"]["sample"]["point"], "1.2749");
        assert_printed(&week["strain_au"]["population"]["point"], "3869.59");
        let shares: Vec<(&str, &Value)> = week["by_setting"]
            .as_array()
            .expect("settings")
            .iter()
            .map(|part| (part["setting"].as_str().expect("a setting"), &part["share_pct"]))
            .collect();
        for (setting, printed) in [
            ("club", "65.84"), ("school_team", "16.01"), ("pe", "8.54"), ("prescribed_home", "8.01"), ("free", "1.60"),
        ] {
            let share = shares.iter().find(|(name, _)| *name == setting);
            assert_printed(share.unwrap_or_else(|| panic!("no share of {setting}")).1, printed);
        }
        assert_eq!(shares.len(), 5);
    }

    async fn s01_monotony_is_not_raised(database: Database) {
        let (_server, club, u16) = club_with_squad(database, "2026-09-14T08:00:00+02:00", "U16").await;
        club.example_policy().await;
        let athlete = u16.athlete("P-07").with("joined_on", "2026-08-17").await;
        the_week(&athlete).await;

        let list = u16.weekly_list("2026-W37").await;
        let raised = each(&list["entries"], "finding").contains(&"monotony")
            || list["entries"].as_array().into_iter().flatten().any(|entry| entry["also"] != json!([]));
        assert!(!raised, "{}", list.text());
    }
}
