//! S20 (a): twelve rows in one bulk call, sent on Monday 26 October 2026, as JSON, as CSV and as NDJSON.

use std::collections::BTreeMap;

use e2e::{Answer, Request};

use crate::*;

const NOW: &str = "2026-10-26T08:00:00+01:00";
const COLUMNS: [&str; 9] = [
    "athlete_external_id",
    "started_at",
    "time_zone",
    "minutes",
    "rpe",
    "setting",
    "kind",
    "given_at",
    "given_by",
];

fn row(who: &str, started_at: &str, minutes: u32, rpe: f64, given_at: &str) -> Value {
    json!({
        "athlete_external_id": who, "started_at": started_at, "minutes": minutes, "rpe": rpe,
        "setting": "club", "kind": "practice", "given_at": given_at, "given_by": "athlete",
    })
}

fn twelve_rows() -> Vec<Value> {
    let tuesday = |who: &str, rpe| {
        row(
            who,
            "2026-10-13T17:30:00+02:00",
            90,
            rpe,
            "2026-10-13T19:30:00+02:00",
        )
    };
    let thursday = |who: &str, minutes, rpe| {
        row(
            who,
            "2026-10-15T17:30:00+02:00",
            minutes,
            rpe,
            "2026-10-15T19:30:00+02:00",
        )
    };
    let mut ambiguous = row(
        "R-101",
        "2026-10-25T02:30",
        60,
        4.0,
        "2026-10-25T08:00:00+01:00",
    );
    ambiguous["time_zone"] = json!("Europe/Copenhagen");
    let mut school = row(
        "R-103",
        "2026-10-15T18:00:00+02:00",
        60,
        4.0,
        "2026-10-15T19:30:00+02:00",
    );
    school["setting"] = json!("school_team");
    vec![
        tuesday("R-101", 6.0),
        tuesday("R-102", 7.0),
        tuesday("R-103", 5.5),
        tuesday("R-104", 11.0),
        tuesday("R-101", 6.0),
        tuesday("R-109", 6.0),
        thursday("R-102", 0, 5.0),
        thursday("R-103", 90, 6.0),
        thursday("R-104", 90, 0.0),
        ambiguous,
        row(
            "R-102",
            "2027-10-15T17:30:00+02:00",
            90,
            6.0,
            "2027-10-15T19:30:00+02:00",
        ),
        school,
    ]
}

fn as_json() -> (&'static str, String) {
    (
        "application/json",
        json!({ "sessions": twelve_rows() }).to_string(),
    )
}

fn as_csv() -> (&'static str, String) {
    let cell = |row: &Value, column: &&str| match &row[*column] {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    let line = |row: &Value| {
        COLUMNS
            .iter()
            .map(|column| cell(row, column))
            .collect::<Vec<_>>()
            .join(",")
    };
    let lines: Vec<String> = twelve_rows().iter().map(line).collect();
    (
        "text/csv",
        format!("{}\n{}\n", COLUMNS.join(","), lines.join("\n")),
    )
}

fn as_ndjson() -> (&'static str, String) {
    let lines = twelve_rows().into_iter().map(|row| row.to_string() + "\n");
    ("application/x-ndjson", lines.collect())
}

async fn club_of_four(database: Database) -> (Server, Club, BTreeMap<&'static str, Athlete>) {
    let (server, club, squad) = club_with_squad(database, NOW, "U16").await;
    let mut athletes = BTreeMap::new();
    for code in ["R-101", "R-102", "R-103", "R-104"] {
        athletes.insert(code, squad.athlete(code).await);
    }
    (server, club, athletes)
}

fn send(club: &Club, (media_type, body): (&str, String)) -> Request {
    club.as_role("integration")
        .request(e2e::Method::POST, "sessions/bulk")
        .body(media_type, body)
}

/// The results of an answer, whichever form it has, without what differs from call to call: ids, and what tells the
/// service's clock.
fn results(answer: &Answer) -> Vec<Value> {
    let line = |line: &str| serde_json::from_str(line).expect("a JSON line");
    let lines = || answer.text().lines().map(line).collect();
    let mut results: Vec<Value> = answer["results"].as_array().cloned().unwrap_or_else(lines);
    for result in &mut results {
        let has_id = result["session_id"].is_string();
        assert_eq!(has_id, result["outcome"] != "rejected", "{result}");
        result["session_id"].take();
        if result["problems"][0]["code"] == "in_future" {
            result["problems"][0]["detail"].take();
            result["problems"][0]["allowed"] = json!("not after now");
        }
    }
    results
}

fn assert_outcomes(answer: &Answer) {
    let results = results(answer);
    let found: Vec<(u64, &str, Value, Vec<&str>)> = results
        .iter()
        .map(|result| {
            let problems = result["problems"].as_array().into_iter().flatten();
            let codes = problems
                .filter_map(|problem| problem["code"].as_str())
                .collect();
            let warnings = if result["warnings"].is_null() {
                json!([])
            } else {
                result["warnings"].clone()
            };
            (
                result["row"].as_u64().unwrap_or(0),
                result["outcome"].as_str().unwrap_or(""),
                warnings,
                codes,
            )
        })
        .collect();
    let overlap = || json!(["overlaps_other_session"]);
    let expected = vec![
        (1, "accepted", json!([]), vec![]),
        (2, "accepted", json!([]), vec![]),
        (3, "accepted", json!([]), vec![]),
        (4, "rejected", json!([]), vec!["rpe_out_of_range"]),
        (5, "unchanged", json!([]), vec![]),
        (6, "rejected", json!([]), vec!["unknown_person"]),
        (7, "rejected", json!([]), vec!["minutes_out_of_range"]),
        (8, "accepted", overlap(), vec![]),
        (9, "accepted", json!(["rpe_zero_with_minutes"]), vec![]),
        (10, "rejected", json!([]), vec!["ambiguous_local_time"]),
        (11, "rejected", json!([]), vec!["in_future"]),
        (12, "accepted", overlap(), vec![]),
    ];
    assert_eq!(found, expected, "{}", answer.text());
    for (row, pointer, given) in [
        (4, "/rpe", json!(11.0)),
        (6, "/athlete_external_id", json!("R-109")),
        (7, "/minutes", json!(0)),
        (10, "/started_at", json!("2026-10-25T02:30")),
        (11, "/started_at", json!("2027-10-15T17:30:00+02:00")),
    ] {
        let problem = &results[row - 1]["problems"][0];
        assert_eq!(problem["pointer"], pointer, "row {row}");
        let same =
            problem["given"] == given || problem["given"].as_f64() == given.as_f64().or(Some(-1.0));
        assert!(
            same && problem["allowed"].is_string(),
            "row {row}: {problem}"
        );
    }
}

fn assert_counts(answer: &Answer, accepted: u64, unchanged: u64, rejected: u64) {
    let results = results(answer);
    let count = |outcome: &str| {
        results
            .iter()
            .filter(|result| result["outcome"] == outcome)
            .count()
    };
    let counts = ["accepted", "unchanged", "rejected"].map(count);
    assert_eq!(
        counts.map(|count| count as u64),
        [accepted, unchanged, rejected],
        "{}",
        answer.text()
    );
    if answer.body.is_object() {
        for (name, expected) in [
            ("rows", 12),
            ("accepted", accepted),
            ("unchanged", unchanged),
            ("rejected", rejected),
        ] {
            assert_eq!(answer[name], expected, "{name}: {}", answer.text());
        }
    }
}

async fn assert_loads(athletes: &BTreeMap<&str, Athlete>) {
    let mut sum = 0.0;
    for (code, point, low) in [
        ("R-101", 540.0, 540.0),
        ("R-102", 630.0, 630.0),
        ("R-103", 1275.0, 1035.0),
        ("R-104", 0.0, 0.0),
    ] {
        let week = athletes[code].week_figures("2026-W42").await;
        assert_eq!(
            week["load_au"],
            json!({ "point": point, "low": low, "high": point }),
            "{code}"
        );
        sum += point;
    }
    assert_eq!(sum, 2445.0);
    let thursday = athletes["R-103"].day_figures("2026-10-15").await;
    assert_eq!(
        thursday["load_bounds_au"],
        json!({ "point": 780.0, "low": 540.0, "high": 780.0 })
    );
    assert_eq!(
        (&thursday["sessions"], &thursday["minutes"]),
        (&json!(2), &json!(150))
    );
}

async fn stored(club: &Club) -> usize {
    let list = club
        .as_role("integration")
        .get("sessions")
        .query("limit", 500)
        .await
        .expect(200);
    list["items"].as_array().expect("items").len()
}

/// The twelve rows in one form: a trial stores nothing and answers the same, then they count, then they are unchanged.
async fn rows_land_and_say_why_not(database: Database, form: fn() -> (&'static str, String)) {
    let (_server, club, athletes) = club_of_four(database).await;
    let trial = send(&club, form()).dry_run().await.expect(200);
    assert_outcomes(&trial);
    assert_eq!(stored(&club).await, 0);
    if trial.body.is_object() {
        assert_eq!(trial["dry_run"], true);
    }

    let real = send(&club, form()).await.expect(200);
    assert_outcomes(&real);
    assert_counts(&real, 6, 1, 5);
    assert_eq!(results(&trial), results(&real), "ids aside");
    assert_eq!(stored(&club).await, 6);
    assert_loads(&athletes).await;

    let again = send(&club, form()).await.expect(200);
    assert_counts(&again, 0, 7, 5);
    assert_loads(&athletes).await;
}

on_both_databases! {
    async fn s20a_twelve_rows_as_json(database: Database) {
        rows_land_and_say_why_not(database, as_json).await;
    }

    async fn s20a_twelve_rows_as_csv(database: Database) {
        rows_land_and_say_why_not(database, as_csv).await;
    }

    async fn s20a_twelve_rows_as_ndjson(database: Database) {
        rows_land_and_say_why_not(database, as_ndjson).await;
    }

    async fn s20a_the_same_key_gives_the_same_bytes(database: Database) {
        for form in [as_json, as_csv] {
            let (_server, club, athletes) = club_of_four(database).await;
            let first = send(&club, form()).idempotency_key("key-1").await.expect(200);
            assert_counts(&first, 6, 1, 5);
            let again = send(&club, form()).idempotency_key("key-1").await.expect(200);
            assert_eq!(again.bytes, first.bytes);
            let new_key = send(&club, form()).idempotency_key("key-2").await.expect(200);
            assert_counts(&new_key, 0, 7, 5);
            assert_loads(&athletes).await;
        }
    }
}
