//! S15: a joiner without history, P-40, first day Tuesday 1 September 2026.

use crate::*;

const DAYS: [f64; 10] = [0.0, 450.0, 0.0, 540.0, 225.0, 0.0, 600.0, 0.0, 450.0, 0.0];

on_both_databases! {
    async fn s15_figures_wait_for_their_window(database: Database) {
        let (mut server, club, u16) = club_with_squad(database, "2026-09-10T21:00:00+02:00", "U16").await;
        club.example_policy().await;
        let athlete = u16.athlete("P-40").with("joined_on", "2026-09-01").await;
        store(&club, athlete.days("2026-09-01", &DAYS)).await;

        let thursday = athlete.day_figures("2026-09-10").await;
        assert_exact(&thursday["acute_7d_au"], "1815");
        // Not 3.2053, which is what zeros before the first day would give.
        assert_none(&thursday["ratio_coupled"], "fewer_than_28_days");
        assert_none(&thursday["ratio_uncoupled"], "fewer_than_28_days");
        assert_eq!(thursday["ewma"]["reason"], "fewer_than_28_days");
        let days = &thursday["days_28"];
        let known: u64 = ["reported", "rest_declared", "assumed_rest", "absence"]
            .iter()
            .filter_map(|state| days[*state].as_u64())
            .sum();
        assert_eq!((known, &days["before_membership"]), (10, &json!(18)), "{days}");
        // Days before the first one are left out, not shown as zeros.
        let from_august = athlete.load("2026-08-25", "2026-09-10").await;
        assert_eq!(from_august["days"][0]["date"], "2026-09-01");

        server.restart_at("2026-09-28T21:00:00+02:00").await;
        let days = athlete.load("2026-09-13", "2026-09-28").await["days"].clone();
        let change = |at: usize| &days[at]["change_from_previous_7d"];
        assert_eq!((&change(0)["pct"]["point"], &change(0)["reason"]), (&Value::Null, &json!("fewer_than_14_days")));
        assert!(change(1)["pct"]["point"].is_f64(), "the first change is on 14 September: {}", change(1));
        assert_none(&days[14]["ratio_coupled"], "fewer_than_28_days");
        assert_eq!(days[15]["date"], "2026-09-28");
        assert!(days[15]["ratio_coupled"]["point"].is_f64(), "{}", days[15]);
    }

    async fn s15_the_weekly_list_says_from_when(database: Database) {
        let (_server, club, u16) = club_with_squad(database, "2026-09-14T07:00:00+02:00", "U16").await;
        club.example_policy().await;
        let athlete = u16.athlete("P-40").with("joined_on", "2026-09-01").await;
        store(&club, athlete.days("2026-09-01", &DAYS)).await;

        let list = u16.weekly_list("2026-W37").await;
        assert_eq!(each(&list["entries"], "athlete_id"), [athlete.id()], "{}", list.text());
        let entry = &list["entries"][0];
        assert_eq!((&entry["finding"], &entry["certainty"]), (&json!("not_computable"), &json!("not_computable")));
        assert_eq!(entry["reason"], "fewer_than_28_days");
        assert_eq!(entry["first_ratio_date"], "2026-09-28");
        assert!(entry["sentence"].as_str().is_some_and(|text| text.contains("2026-09-28")), "{entry}");
    }

    async fn s15_what_was_declared_is_a_range_and_labelled(database: Database) {
        let (_server, club, u16) = club_with_squad(database, "2026-09-10T21:00:00+02:00", "U16").await;
        club.example_policy().await;
        let athlete = u16.athlete("P-40").with("joined_on", "2026-09-01").await;
        store(&club, athlete.days("2026-09-01", &DAYS)).await;
        let before = athlete.day_figures("2026-09-10").await;

        let path = format!("athletes/{}/declared-history", athlete.id());
        let usual = json!({ "weekly_minutes": { "low": 240, "high": 360 }, "rpe": { "low": 4, "high": 6 } });
        club.as_guardian_of(&[&athlete]).post(&path, usual).await.expect(201);
        let coach = club.as_role("coach");
        let declared = coach.get(&path).query("week_load_au", "1500").await.expect(200);
        assert_eq!((&declared["label"], &declared["given_by"]), (&json!("declared, not logged"), &json!("guardian")));
        for (range, low, high) in [
            ("weekly_load_au", "960", "2160"), ("ratio", "0.7519", "1.3699"), ("limit_au", "1728", "3888"),
        ] {
            assert_printed(&declared[range]["low"], low);
            assert_printed(&declared[range]["high"], high);
        }
        assert_eq!(athlete.day_figures("2026-09-10").await, before, "it enters no figure");
    }
}
