//! S10: a half-year plan checked before it starts, after a typed history and after the same history logged.

use crate::half_year::{history, numbers, plan};
use crate::*;

const SUNDAY_BEFORE: &str = "2026-08-02T20:00:00+02:00";

/// Week, Monday, load, prior 21 days, limit, coupled, uncoupled, over by, change from the week before in per cent, monotony, hours, free
/// days, games.
const TABLE: [&str; 26] = [
    "1 2026-08-03 2025 1650 990 2.2041 3.6818 1035 268.18 1.7008 6.75 1 0",
    "2 2026-08-10 2400 3125 1875 1.7376 2.3040 525 18.52 1.5959 7.75 1 0",
    "3 2026-08-17 2955 4975 2985 1.4905 1.7819 -30 23.12 3.1502 8.75 0 1",
    "4 2026-08-24 2550 7380 4428 1.0272 1.0366 -1878 -13.71 1.8779 8.75 0 1",
    "5 2026-08-31 2790 7905 4743 1.0435 1.0588 -1953 9.41 1.5224 8 1 1",
    "6 2026-09-07 2880 8295 4977 1.0309 1.0416 -2097 3.23 1.6287 8 1 1",
    "7 2026-09-14 2970 8220 4932 1.0617 1.0839 -1962 3.12 1.7314 8 1 1",
    "8 2026-09-21 2700 8640 5184 0.9524 0.9375 -2484 -9.09 1.4157 8 1 1",
    "9 2026-09-28 2790 8550 5130 0.9841 0.9789 -2340 3.33 1.5224 8 1 1",
    "10 2026-10-05 2880 8460 5076 1.0159 1.0213 -2196 3.23 1.6287 8 1 1",
    "11 2026-10-12 945 8370 5022 0.4058 0.3387 -4077 -67.19 0.8018 2.25 4 0",
    "12 2026-10-19 4380 6615 3969 1.5935 1.9864 411 363.49 2.2966 11.5 0 1",
    "13 2026-10-26 2790 8205 4923 1.0150 1.0201 -2133 -36.30 1.5224 8 1 1",
    "14 2026-11-02 2880 8115 4869 1.0477 1.0647 -1989 3.23 1.6287 8 1 1",
    "15 2026-11-09 2970 10050 6030 0.9124 0.8866 -3060 3.12 1.7314 8 1 1",
    "16 2026-11-16 2700 8640 5184 0.9524 0.9375 -2484 -9.09 1.4157 8 1 1",
    "17 2026-11-23 2790 8550 5130 0.9841 0.9789 -2340 3.33 1.5224 8 1 1",
    "18 2026-11-30 2880 8460 5076 1.0159 1.0213 -2196 3.23 1.6287 8 1 1",
    "19 2026-12-07 870 8370 5022 0.3766 0.3118 -4152 -69.79 0.7090 3.25 4 0",
    "20 2026-12-14 870 6540 3924 0.4696 0.3991 -3054 0.00 0.7090 3.25 4 0",
    "21 2026-12-21 240 4620 2772 0.1975 0.1558 -2532 -72.41 0.5855 1 5 0",
    "22 2026-12-28 1920 1980 1188 1.9692 2.9091 732 700.00 0.8018 4 4 6",
    "23 2027-01-04 2970 3030 1818 1.9800 2.9406 1152 54.69 1.7314 8 1 1",
    "24 2027-01-11 2700 5130 3078 1.3793 1.5789 -378 -9.09 1.4157 8 1 1",
    "25 2027-01-18 2790 7590 4554 1.0751 1.1028 -1764 3.33 1.5224 8 1 1",
    "26 2027-01-25 2880 8460 5076 1.0159 1.0213 -2196 3.23 1.6287 8 1 1",
];

/// The example policy with the rules about hours and free days, which no other part of the service judges yet.
async fn club_with_rules(database: Database) -> (Server, Club, Squad) {
    let (server, club, squad) = club_with_squad(database, SUNDAY_BEFORE, "U18").await;
    let mut rules = example_rules();
    for code in ["organised_hours", "free_days"] {
        let rule = json!({ "code": code, "enabled": false, "limit": 1, "source_note": "Example limit for tests" });
        rules.as_array_mut().expect("a list").push(rule);
    }
    club.example_policy().with("rules", rules).await;
    (server, club, squad)
}

fn typed() -> Value {
    json!({ "plan": plan(), "history": { "day_loads_au": history(), "birth_date": "2010-03-14" } })
}

async fn check(club: &Club, body: Value) -> Value {
    let coach = club.as_role("strength_coach");
    let found = coach.post("plan-checks", body).await.expect(200);
    assert_eq!(
        found["items"].as_array().map(Vec::len),
        Some(1),
        "{}",
        found.text()
    );
    found["items"][0].clone()
}

#[track_caller]
fn assert_row(week: &Value, row: &str) {
    let columns: Vec<&str> = row.split(' ').collect();
    assert_eq!(week["number"].to_string(), columns[0]);
    assert_eq!(week["monday"], columns[1]);
    assert_printed(&week["load_au"], columns[2]);
    assert_exact(&week["prior_21d_au"], columns[3]);
    assert_exact(&week["limit_au"], columns[4]);
    assert_exact(&week["ratio_coupled"], columns[5]);
    assert_exact(&week["ratio_uncoupled"], columns[6]);
    assert_exact(&week["over_by_au"], columns[7]);
    assert_exact(&week["change_from_previous_week"]["pct"], columns[8]);
    assert_exact(&week["monotony"]["sample"], columns[9]);
    assert_printed(&week["organised_hours"], columns[10]);
    assert_eq!(week["free_days"].to_string(), columns[11]);
    assert_eq!(week["games"].to_string(), columns[12]);
}

fn breaks<'a>(rule: &'a str) -> impl Fn(&Value) -> bool + 'a {
    move |week| {
        let mut broken = week["rules_broken"].as_array().expect("rules").iter();
        broken.any(|one| one["rule"] == rule && one["certainty"] == "certain")
    }
}

/// Everything that S10 says of the plan.
fn assert_s10(check: &Value) {
    let weeks = check["weeks"].as_array().expect("weeks");
    assert_eq!(weeks.len(), TABLE.len());
    for (week, row) in weeks.iter().zip(TABLE) {
        assert_row(week, row);
    }
    assert_eq!(check["total_au"], 64_515.0);
    for (rule, expected) in [
        ("week_end_ratio", vec![1, 2, 12, 22, 23]),
        ("own_highest_week", vec![1, 2, 3, 12]),
        ("week_monotony", vec![3, 12]),
        ("free_days", vec![3, 4, 12]),
        ("organised_hours", vec![]),
    ] {
        assert_eq!(numbers(check, breaks(rule)), expected, "{rule}");
    }
    assert_eq!(
        check["weeks_over"],
        json!(["2026-W32", "2026-W33", "2026-W43", "2026-W53", "2027-W01"])
    );
    assert_eq!(
        (&check["days_over"], &check["first_day_over"]),
        (&json!(35), &json!("2026-08-03"))
    );
    let days = |week: &Value| week["days_over"].as_array().map_or(0, Vec::len);
    let with_days: Vec<(u64, usize)> = weeks
        .iter()
        .filter(|week| days(week) > 0)
        .map(|week| (week["number"].as_u64().expect("a number"), days(week)))
        .collect();
    assert_eq!(
        with_days,
        [
            (1, 7),
            (2, 7),
            (3, 2),
            (12, 1),
            (13, 4),
            (22, 5),
            (23, 5),
            (24, 4)
        ]
    );
    let over =
        |shift: &'static str| numbers(check, move |week| week["sensitivity"][shift] == "certain");
    for shift in ["planned", "all_harder", "all_easier"] {
        assert_eq!(over(shift), [1, 2, 12, 22, 23], "{shift}");
    }
    assert_eq!(over("best_order"), [1, 22, 23]);
    assert_eq!(over("worst_order"), [1, 2, 3, 12, 22, 23, 24]);
    assert_eq!(
        check["robust_weeks"],
        json!(["2026-W32", "2026-W53", "2027-W01"])
    );
    assert_eq!(check["fragile_weeks"], json!(["2026-W34", "2027-W02"]));
}

on_both_databases! {
    async fn s10_after_a_typed_history(database: Database) {
        let (_server, club, _) = club_with_rules(database).await;
        let found = check(&club, typed()).await;
        assert_s10(&found);
        assert_eq!((&found["athlete_id"], &found["logged_until"]), (&Value::Null, &Value::Null));
        let said = found["sentences"].as_array().expect("sentences");
        assert_eq!(
            said[0],
            "2026-W32: 2025 AU planned, 1035 AU above the club limit of 990 AU; \
             1420 AU above the limit by the own highest week of 605 AU."
        );
        assert_eq!(
            said[3],
            "2026-W35: 2550 AU planned, no day free of organised sport, where 1 should be."
        );
        assert!(found["note"].as_str().is_some_and(|note| note.contains("no target")), "{found}");
    }

    async fn s10_after_the_same_history_logged(database: Database) {
        let (_server, club, squad) = club_with_rules(database).await;
        let athlete = squad.athlete("E-09").with("joined_on", "2026-07-06").with("birth_date", "2010-03-14").await;
        store(&club, athlete.days("2026-07-06", &history())).await;
        let body = json!({ "plan": plan(), "athlete_id": athlete.id() });
        let found = check(&club, body.clone()).await;
        assert_s10(&found);
        assert_eq!((&found["athlete_id"], &found["display_name"]), (&json!(athlete.id()), &json!("E-09")));
        assert_eq!(found["logged_until"], "2026-08-02");
        // Each athlete of the squad has a line of her own; one is new and has no ratio yet.
        let new = squad.athlete("E-10").with("joined_on", "2026-08-01").await;
        let body = json!({ "plan": plan(), "squad_id": squad.id() });
        let coach = club.as_coach_of(&[&squad]);
        let lines = coach.post("plan-checks", body).header("Accept", "application/x-ndjson").await.expect(200);
        assert_eq!(lines.header("content-type"), Some("application/x-ndjson"));
        let text = lines.text();
        let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
        assert_eq!(lines.len(), 2, "{text}");
        let of = |id: &str| lines.iter().find(|line| line["athlete_id"] == id).expect("a line");
        assert_s10(of(athlete.id()));
        let first = &of(new.id())["weeks"][0];
        assert_none(&first["ratio_coupled"], "fewer_than_28_days");
        let why = json!({ "rule": "week_end_ratio", "reason": "fewer_than_28_days" });
        assert!(first["not_computable"].as_array().is_some_and(|open| open.contains(&why)), "{first}");
    }

    async fn s10_history_typed_by_weeks_gives_the_same_weeks(database: Database) {
        let (_server, club, _) = club_with_rules(database).await;
        let history = json!({ "week_loads_au": [550, 550, 550, 550] });
        let found = check(&club, json!({ "plan": plan(), "history": history })).await;
        let weeks = found["weeks"].as_array().expect("weeks");
        for (week, row) in weeks.iter().zip(TABLE) {
            assert_row(week, row);
        }
        let why = json!({ "rule": "organised_hours", "reason": "no_birth_date" });
        assert!(weeks[0]["not_computable"].as_array().is_some_and(|open| open.contains(&why)), "{}", weeks[0]);
        // Nothing known: the first three weeks cannot be judged, the fourth is by the plan alone.
        let none = check(&club, json!({ "plan": plan(), "history": { "week_loads_au": [] } })).await;
        for week in &none["weeks"].as_array().expect("weeks")[..3] {
            assert_none(&week["ratio_coupled"], "fewer_than_28_days");
        }
        assert_exact(&none["weeks"][3]["ratio_coupled"], "1.0272");
    }

    async fn s10_with_another_limit_and_without_a_policy(database: Database) {
        let (_server, club, _) = club_with_squad(database, SUNDAY_BEFORE, "U18").await;
        let mut body = typed();
        let found = check(&club, body.clone()).await;
        assert_eq!((&found["limit"], &found["policy_version"]), (&Value::Null, &Value::Null));
        assert_eq!(found["weeks"][0]["sensitivity"], Value::Null);
        assert_exact(&found["weeks"][0]["ratio_coupled"], "2.2041");
        body["limit"] = json!({ "ratio_kind": "coupled", "limit": 1.3 });
        let found = check(&club, body).await;
        // 1.3 P / 2.7 after 7380 is 3553.3333, after 4975 it is 2395.3704.
        assert_exact(&found["weeks"][2]["limit_au"], "2395.3704");
        assert_exact(&found["weeks"][2]["over_by_au"], "559.6296");
        assert_exact(&found["weeks"][3]["limit_au"], "3553.3333");
        assert_eq!(found["limit"]["limit"], 1.3);
    }
}
