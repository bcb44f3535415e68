//! S18: the weekly list of U16, 2026-W45, and an athlete's own baseline.

use crate::*;

const NOW: &str = "2026-11-09T07:00:00+01:00";
const P7: [f64; 9] = [
    2100.0, 2250.0, 1980.0, 2200.0, 2320.0, 2050.0, 2150.0, 2190.0, 2700.0,
];

struct U16 {
    _server: Server,
    squad: Squad,
    p1: Athlete,
    p2: Athlete,
    p4: Athlete,
    p7: Athlete,
}

async fn u16(database: Database) -> U16 {
    let (server, club, squad) = club_with_squad(database, NOW, "U16").await;
    club.example_policy().await;
    let p1 = squad.athlete("P1").with("joined_on", "2026-10-12").await;
    let p2 = squad.athlete("P2").with("joined_on", "2026-10-12").await;
    let p4 = squad.athlete("P4").with("joined_on", "2026-10-24").await;
    let p7 = squad.athlete("P7").with("joined_on", "2026-09-07").await;
    let rows = [
        p1.weeks("2026-10-12", &[5400.0, 0.0, 0.0, 3000.0]),
        p2.weeks("2026-10-12", &[5000.0, 0.0, 0.0, 3300.0]),
        p4.weeks("2026-10-26", &[900.0, 900.0]),
        p7.weeks("2026-09-07", &P7),
    ];
    store(&club, rows.concat()).await;
    U16 {
        _server: server,
        squad,
        p1,
        p2,
        p4,
        p7,
    }
}

on_both_databases! {
    async fn s18_only_who_needs_a_decision_in_order(database: Database) {
        let u16 = u16(database).await;
        let list = u16.squad.weekly_list("2026-W45").await;
        assert_eq!(
            each(&list["entries"], "athlete_id"),
            [u16.p2.id(), u16.p7.id(), u16.p4.id()],
            "{}", list.text()
        );
        assert_eq!(each(&list["entries"], "display_name"), ["P2", "P7", "P4"]);
        assert_eq!(each(&list["entries"], "finding"), ["over_limit", "own_highest", "not_computable"]);
        assert_eq!(each(&list["entries"], "certainty"), ["certain", "certain", "not_computable"]);
        assert_eq!((&list["week"], &list["date"], &list["complete"]), (&json!("2026-W45"), &json!("2026-11-08"), &json!(true)));
        assert_eq!((&list["not_listed"], &list["nothing_logged"]), (&json!(1), &json!(0)));

        let [p2, p7, p4] = [0, 1, 2].map(|at| &list["entries"][at]);
        assert_printed(&p2["ratio"]["point"], "1.5904");
        assert_printed(&p2["limit_au"]["point"], "3000");
        assert_printed(&p2["over_by_au"]["point"], "300");
        assert_printed(&p7["week_load_au"]["point"], "2700");
        assert_printed(&p7["limit_au"]["point"], "2552");
        assert_printed(&p7["over_by_au"]["point"], "148");
        assert_eq!(p4["first_ratio_date"], "2026-11-20");
        for entry in [p2, p7, p4] {
            assert!(entry["sentence"].as_str().is_some_and(|text| text.ends_with('.')), "{entry}");
        }
    }

    async fn s18_who_is_not_listed_has_a_ratio_below_the_limit(database: Database) {
        let u16 = u16(database).await;
        let week = u16.p1.week_figures("2026-W45").await;
        assert_exact(&week["ratio_coupled"], "1.4286");
        let week = u16.p7.week_figures("2026-W45").await;
        assert_exact(&week["ratio_coupled"], "1.1881");
    }

    async fn s18_own_baseline(database: Database) {
        let u16 = u16(database).await;
        let week = u16.p7.week_figures("2026-W45").await;
        let usual = &week["usual_week"];
        assert_eq!(usual["weeks_used"], 8);
        for (field, printed) in [
            ("mean_au", "2155"), ("standard_deviation_au", "109.6748"), ("z", "4.9692"),
            ("median_au", "2170"), ("median_deviation_au", "75"), ("robust_z", "4.7664"),
        ] {
            assert_printed(&usual[field], printed);
        }
        let highest = week["own_highest"]["load_au"].as_f64().expect("a highest week");
        let percent_over = 100.0 * (2700.0 / highest - 1.0);
        assert_printed(&json!(percent_over), "16.38");
    }
}
