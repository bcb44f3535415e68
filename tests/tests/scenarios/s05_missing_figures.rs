//! S05: figures that do not exist are null, each with its reason; never 0, never infinity.

use crate::*;

const NOW: &str = "2026-11-09T08:00:00+01:00";
const SUNDAY: &str = "2026-11-08";

async fn athlete_with(database: Database, monday: &str, loads: &[f64]) -> (Server, Squad, Athlete) {
    let (server, club, u16) = club_with_squad(database, NOW, "U16").await;
    club.example_policy().await;
    let athlete = u16.athlete("P-05").with("joined_on", "2026-10-01").await;
    let rows = athlete.days(monday, loads);
    if !rows.is_empty() {
        store(&club, rows).await;
    }
    (server, u16, athlete)
}

on_both_databases! {
    async fn s05_seven_equal_days_have_no_variation(database: Database) {
        let (_server, squad, athlete) = athlete_with(database, "2026-11-02", &[300.0; 7]).await;
        let day = athlete.day_figures(SUNDAY).await;
        assert_exact(&day["acute_7d_au"], "2100");
        assert_no_monotony(&day["monotony"], "no_variation");
        for divisor in ["sample", "population"] {
            assert_eq!(day["strain_au"][divisor]["point"], Value::Null);
        }
        // There is no figure, but no week is more monotonous.
        let list = squad.weekly_list("2026-W45").await;
        let entries = list["entries"].as_array().expect("entries");
        let raised = entries.iter().any(|entry| {
            entry["finding"] == "monotony" && entry["certainty"] == "certain"
        });
        assert!(raised, "{}", list.text());
    }

    async fn s05_seven_zeros_have_no_load(database: Database) {
        let (_server, squad, athlete) = athlete_with(database, "2026-11-02", &[0.0; 7]).await;
        let day = athlete.day_figures(SUNDAY).await;
        assert_exact(&day["acute_7d_au"], "0");
        assert_no_monotony(&day["monotony"], "no_load");
        assert_eq!(day["strain_au"]["sample"]["point"], Value::Null);
        assert_none(&day["ratio_coupled"], "no_load_in_window");
        assert_none(&day["ratio_uncoupled"], "no_load_in_window");
        let list = squad.weekly_list("2026-W45").await;
        assert!(!each(&list["entries"], "finding").contains(&"monotony"), "{}", list.text());
    }

    async fn s05_one_session_in_the_week(database: Database) {
        let (_server, _, athlete) = athlete_with(database, "2026-11-04", &[420.0]).await;
        let day = athlete.day_figures(SUNDAY).await;
        assert_printed(&day["monotony"]["sample"]["point"], "0.3780");
        assert_printed(&day["monotony"]["population"]["point"], "0.4082");
        assert_printed(&day["strain_au"]["sample"]["point"], "158.75");
    }

    async fn s05_no_prior_load(database: Database) {
        let (_server, _, athlete) = athlete_with(database, "2026-11-04", &[420.0]).await;
        let day = athlete.day_figures(SUNDAY).await;
        assert_exact(&day["prior_21d_au"], "0");
        assert_none(&day["ratio_uncoupled"], "no_prior_load");
        // Coupled it would be 4.0 whatever the load.
        assert_none(&day["ratio_coupled"], "below_chronic_floor");
    }

    async fn s05_below_the_chronic_floor(database: Database) {
        let loads = [90.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 420.0];
        let (_server, _, athlete) = athlete_with(database, "2026-10-28", &loads).await;
        let day = athlete.day_figures(SUNDAY).await;
        assert_none(&day["ratio_coupled"], "below_chronic_floor");
        assert_none(&day["ratio_uncoupled"], "below_chronic_floor");
        assert_exact(&day["acute_7d_au"], "420");
        assert_exact(&day["prior_21d_au"], "90");
        assert_printed(&day["change_from_previous_7d"]["au"], "330");
    }
}
