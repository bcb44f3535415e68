//! Figures of a squad that an erasure would change are withheld, so that nobody can subtract.

use crate::*;

const LOADS: [f64; 6] = [1500.0, 1620.0, 1480.0, 1710.0, 1390.0, 1550.0];

on_both_databases! {
    async fn figures_of_her_squad_are_withheld_and_those_of_others_stay(database: Database) {
        let server = Server::setup(database).clock("2026-11-23T07:00:00+01:00").start().await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let (own, other) = (club.squad("U14").await, club.squad("U16").await);
        let mut athletes = Vec::new();
        for squad in [&own, &other] {
            for (load, number) in LOADS.iter().zip(1..) {
                let athlete = squad.athlete(&format!("{}-{number:02}", &squad.id()[30..])).await;
                club.bulk(athlete.weeks("2026-11-16", &[*load])).await.expect(200);
                athletes.push(athlete);
            }
        }
        server.close_week("2026-W47");
        let coach = club.as_role("coach");
        let summary = async |squad: &Squad| {
            let path = format!("squads/{}/weeks/2026-W47/summary", squad.id());
            coach.get(path).await.expect(200)
        };
        let rate = async || club.as_role("privacy_lead").get("policy/flag-rate").await.expect(200);
        let (before, others) = (summary(&own).await, summary(&other).await);
        assert_eq!(before["contributors"], 6);
        assert_eq!(rate().await["weeks"].as_array().expect("weeks").len(), 1);

        let path = format!("athletes/{}/erasure", athletes[0].id());
        club.as_role("privacy_lead").post(path, json!({ "reason": "left" })).await.expect(200);
        let after = summary(&own).await;
        for figure in ["contributors", "mean_au", "lower_quartile_au", "median_au", "upper_quartile_au"] {
            assert_eq!(after[figure], Value::Null, "{}", after.text());
        }
        assert_eq!(after["reason"], "records_erased");
        let mut as_before = summary(&other).await.body;
        as_before["as_of"] = others["as_of"].clone();
        assert_eq!(as_before, others.body);
        let counted = rate().await;
        assert_eq!((&counted["weeks"], &counted["withheld_weeks"]), (&json!([]), &json!(["2026-W47"])));
        assert_eq!((&counted["athlete_weeks"], &counted["a_week_per_15_athletes"]), (&json!(0), &Value::Null));
        let page = club.as_role("privacy_lead").get("policy/flag-rate").header("Accept", "text/html").await.expect(200);
        assert!(page.text().contains("Not counted, since records of an athlete were erased: 2026-W47."));
    }
}
