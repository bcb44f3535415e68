//! A draft policy tried on weeks that are over.

use e2e::{Answer, Athlete, Club, Server, Squad, example_rules, on_both_databases};
use serde_json::{Value, json};

/// Two squads; P-12's week 2026-W45 is a spike of 2880 AU after 4290 AU in three weeks, P-07's is not.
async fn spike(server: &Server) -> (Club, Squad, Athlete) {
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let (younger, older) = (club.squad("U16").await, club.squad("U18").await);
    let spiked = club
        .athlete("P-12", &[&younger, &older])
        .with("joined_on", "2026-10-12")
        .await;
    let steady = younger
        .athlete("P-07")
        .with("joined_on", "2026-10-12")
        .await;
    let mut rows = spiked.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0]);
    rows.extend(steady.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 1500.0]));
    club.bulk(rows).await.expect(200);
    (club, older, spiked)
}

/// The example policy with another ratio limit.
fn draft(limit: f64) -> Value {
    let mut rules = example_rules();
    rules[0]["limit"] = json!(limit);
    json!({
        "effective_from": "2026-12-01",
        "approved_by": "Head of training",
        "source_note": "Draft",
        "organised_settings": ["club", "school_team", "pe"],
        "nothing_said": "assumed_rest",
        "midnight": "start_date",
        "chronic_floor_au": 250,
        "rules": rules,
    })
}

async fn rehearse(club: &Club, policy: Value) -> Answer {
    let body = json!({ "policy": policy, "from_week": "2026-W42", "to_week": "2026-W45" });
    club.as_role("club_admin")
        .post("policy/rehearsals", body)
        .await
}

fn findings(of: &Value) -> (u64, u64) {
    let number = |field: &str| of[field].as_u64().expect("a number");
    (number("certain"), number("possible"))
}

on_both_databases! {
    async fn a_draft_is_compared_with_the_policy_in_force(database: Database) {
        let server = Server::start(database).await;
        let (club, older, _) = spike(&server).await;
        // 4 x 2880 / (2880 + 4290) = 1.6067: over 1.5, and over 1.6 by a little, not over 1.7.
        for (limit, expected) in [(1.6, 1), (1.7, 0)] {
            let found = rehearse(&club, draft(limit)).await.expect(200);
            assert_eq!(findings(&found["draft"]), (expected, 0), "{limit}");
            assert_eq!(findings(&found["in_force"]), (1, 0));
            assert_eq!(found["in_force"]["rules"], json!([{ "code": "week_end_ratio", "certain": 1, "possible": 0 }]));
            // Two athletes in four weeks each: 15 x 1 / 8.
            assert_eq!((&found["draft"]["athlete_weeks"], &found["in_force"]["a_week_per_15_athletes"]), (&json!(8), &json!(1.875)));
            let squads = found["squads"].as_array().expect("squads");
            let names: Vec<&Value> = squads.iter().map(|squad| &squad["name"]).collect();
            assert_eq!(names, ["U16", "U18"]);
            assert_eq!(squads[1]["squad_id"], older.id());
            for squad in squads {
                let worst = json!({ "week": "2026-W45", "athletes": 1, "certain": 1, "possible": 0 });
                assert_eq!(squad["worst_week"], if expected == 1 { worst } else { Value::Null });
                assert_eq!(squad["weeks"].as_array().map(Vec::len), Some(4));
            }
        }
    }

    async fn a_rehearsal_stores_nothing(database: Database) {
        let server = Server::start(database).await;
        let (club, ..) = spike(&server).await;
        server.close_week("2026-W45");
        let (admin, coach) = (club.as_role("club_admin"), club.as_role("coach"));
        let before = (admin.get("policy").await.expect(200).body, coach.get("flags").await.expect(200).body);
        rehearse(&club, draft(1.1)).await.expect(200);
        let after = (admin.get("policy").await.expect(200).body, coach.get("flags").await.expect(200).body);
        assert_eq!(before, after);
    }

    async fn a_draft_that_splits_at_midnight_is_tried_on_days_split_there(database: Database) {
        let server = Server::start(database).await;
        let (club, _, athlete) = spike(&server).await;
        // On the last Sunday 180 minutes at 10 from 22:00 on: 1200 of the 1800 AU fall on Sunday, the rest on Monday.
        athlete.session("2026-11-01T22:00:00+01:00", 180, 10.0).await;
        let mut split = draft(1.5);
        split["midnight"] = json!("split");
        let (whole, split) = (rehearse(&club, draft(1.5)).await.expect(200), rehearse(&club, split).await.expect(200));
        // By start date, week 44 is 1530 + 1800 = 3330 and prior to week 45: 4 x 2880 / (2880 + 6090) = 1.284, within. Split, week 45
        // has 3480 after 5490: 4 x 3480 / (3480 + 5490) = 1.552, over.
        let of_ratio = |found: &Answer| found["draft"]["rules"].as_array().expect("rules").iter()
            .find(|rule| rule["code"] == "week_end_ratio").map_or((0, 0), findings);
        assert_eq!((of_ratio(&whole), of_ratio(&split)), ((0, 0), (1, 0)));
    }

    async fn every_fault_of_a_rehearsal_is_named(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let admin = club.as_role("club_admin");
        let body = json!({ "policy": draft(9.0), "from_week": "2026-W42", "to_week": "2026-W46" });
        let problem = admin.post("policy/rehearsals", body).await.expect_problem(422, "invalid");
        let faults: Vec<_> = problem["errors"].as_array().expect("errors").iter()
            .map(|fault| (fault["pointer"].clone(), fault["code"].clone())).collect();
        assert_eq!(json!(faults), json!([["/policy/rules/0/limit", "limit_out_of_range"], ["/to_week", "in_future"]]));
        for (from, to, pointer, code) in [
            ("2026-W46", "2026-W45", "/to_week", "range_reversed"),
            ("2024-W01", "2026-W45", "/from_week", "range_too_long"),
            ("2026-W54", "2026-W45", "/from_week", "invalid_week"),
        ] {
            let body = json!({ "policy": draft(1.5), "from_week": from, "to_week": to });
            let problem = admin.post("policy/rehearsals", body).await.expect_problem(422, "invalid");
            assert_eq!((&problem["errors"][0]["pointer"], &problem["errors"][0]["code"]), (&json!(pointer), &json!(code)));
        }
    }
}
