//! S02: ratios, the exact edge of a limit, and how the choice of kind changes the answer.

use crate::*;

const NOW: &str = "2026-09-14T08:00:00+02:00";
const EARLIER: [f64; 21] = [
    300.0, 0.0, 400.0, 225.0, 0.0, 350.0, 0.0, // 17-23 August
    480.0, 225.0, 450.0, 0.0, 500.0, 0.0, 0.0, // 24-30 August
    540.0, 225.0, 450.0, 540.0, 0.0, 600.0, 0.0, // 31 August - 6 September
];
const WEEK: [f64; 7] = [780.0, 225.0, 450.0, 630.0, 0.0, 680.0, 45.0];

async fn athlete_with(squad: &Squad, code: &str, week: &[f64]) -> Athlete {
    let athlete = squad.athlete(code).with("joined_on", "2026-08-17").await;
    store(
        squad.club(),
        athlete.days("2026-08-17", &[&EARLIER[..], week].concat()),
    )
    .await;
    athlete
}

on_both_databases! {
    async fn s02_both_kinds_of_ratio_and_the_change(database: Database) {
        let (_server, club, u16) = club_with_squad(database, NOW, "U16").await;
        club.example_policy().await;
        let athlete = athlete_with(&u16, "P-07", &WEEK).await;

        let sunday = athlete.day_figures("2026-09-13").await;
        assert_exact(&sunday["acute_7d_au"], "2810");
        assert_exact(&sunday["prior_21d_au"], "5285");
        assert_printed(&sunday["chronic_week_au"]["coupled"], "2023.75");
        assert_printed(&sunday["chronic_week_au"]["uncoupled"], "1761.6667");
        assert_exact(&sunday["ratio_coupled"], "1.3885");
        assert_exact(&sunday["ratio_uncoupled"], "1.5951");
        assert_printed(&sunday["change_from_previous_7d"]["au"], "455");
        assert_printed(&sunday["change_from_previous_7d"]["pct"]["point"], "19.32");

        let week = athlete.week_figures("2026-W37").await;
        assert_exact(&week["ratio_coupled"], "1.3885");
        assert_printed(&week["change_from_previous_week"]["pct"]["point"], "19.32");
        let list = u16.weekly_list("2026-W37").await;
        assert_eq!((&list["entries"], &list["not_listed"]), (&json!([]), &json!(1)), "{}", list.text());
    }

    async fn s02_exponential_means_name_their_seed(database: Database) {
        let (_server, _, u16) = club_with_squad(database, NOW, "U16").await;
        let athlete = athlete_with(&u16, "P-07", &WEEK).await;
        let means = &athlete.day_figures("2026-09-13").await["ewma"];
        assert_printed(&means["acute_au_day"], "324.1252");
        assert_printed(&means["chronic_au_day"], "315.5443");
        assert_printed(&means["ratio"], "1.0272");
        assert_eq!((&means["seed"], &means["reason"]), (&json!("first_day"), &Value::Null));
    }

    async fn s02_the_same_rule_set_to_uncoupled_is_raised(database: Database) {
        let (_server, club, u16) = club_with_squad(database, NOW, "U16").await;
        let mut rules = example_rules();
        rules[0]["ratio_kind"] = json!("uncoupled");
        club.example_policy().with("rules", rules).await;
        athlete_with(&u16, "P-07", &WEEK).await;

        let list = u16.weekly_list("2026-W37").await;
        assert_eq!(each(&list["entries"], "finding"), ["over_limit"], "{}", list.text());
        let entry = &list["entries"][0];
        assert_eq!((&entry["certainty"], &entry["ratio"]["kind"]), (&json!("certain"), &json!("uncoupled")));
        assert_printed(&entry["ratio"]["point"], "1.5951");
        assert_printed(&entry["limit_au"]["point"], "2642.5");
        assert_printed(&entry["over_by_au"]["point"], "167.5");
    }

    async fn s02_the_exact_edge_is_not_over(database: Database) {
        let (_server, club, u16) = club_with_squad(database, NOW, "U16").await;
        club.example_policy().await;
        let edge = athlete_with(&u16, "edge", &[3171.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]).await;
        let above = athlete_with(&u16, "above", &[3171.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]).await;

        assert_exact(&edge.day_figures("2026-09-13").await["ratio_coupled"], "1.5000");
        assert_exact(&above.day_figures("2026-09-13").await["ratio_coupled"], "1.5001");
        let list = u16.weekly_list("2026-W37").await;
        assert_eq!(each(&list["entries"], "athlete_id"), [above.id()], "{}", list.text());
        let entry = &list["entries"][0];
        assert_eq!((&entry["finding"], &entry["certainty"]), (&json!("over_limit"), &json!("certain")));
        assert_printed(&entry["limit_au"]["point"], "3171");
        assert_printed(&entry["over_by_au"]["point"], "0.5");
        assert_eq!(list["not_listed"], 1);
    }
}
