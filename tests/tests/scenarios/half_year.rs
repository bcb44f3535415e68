//! The half-year plan of an invented athlete as a coach would send it: 26 weeks from Monday 3 August 2026.

use crate::*;

/// What is on the way to be cut: practice, strength, physical education, home sessions.
pub(crate) fn plan() -> Value {
    let weeks =
        |wanted: &dyn Fn(u32) -> bool| (1..=26).filter(|week| wanted(*week)).collect::<Vec<u32>>();
    let usual = |week: u32| matches!(week, 5..=10 | 12..=18 | 23..=26);
    let early = |week: u32| week <= 4;
    let mut sessions = Vec::new();
    for weekday in ["monday", "wednesday", "thursday"] {
        sessions.push(session(
            weekday,
            &weeks(&early),
            ("club", "practice", 90, 5.0),
        ));
        sessions.push(session(
            weekday,
            &weeks(&usual),
            ("club", "practice", 90, 6.0),
        ));
    }
    // Strength cycles 5, 6, 7, 4 by week number.
    for (place, rpe) in [(1, 5.0), (2, 6.0), (3, 7.0), (0, 4.0)] {
        let of = |days: &[&str], wanted: &dyn Fn(u32) -> bool| -> Vec<Value> {
            let weeks = weeks(&|week| week % 4 == place && wanted(week));
            let strength = ("prescribed_home", "strength", 45, rpe);
            let sessions = days
                .iter()
                .map(|weekday| session(weekday, &weeks, strength));
            sessions.collect()
        };
        sessions.extend(of(&["tuesday", "friday", "saturday"], &early));
        sessions.extend(of(&["tuesday", "friday"], &usual));
        sessions.extend(of(&["monday", "wednesday", "friday"], &|week| week == 11));
    }
    let light = |week: u32| matches!(week, 19 | 20);
    sessions.push(session(
        "monday",
        &weeks(&light),
        ("club", "practice", 90, 5.0),
    ));
    sessions.push(session(
        "thursday",
        &weeks(&light),
        ("prescribed_home", "strength", 45, 4.0),
    ));
    let pe = |week: u32| week > 1 && !matches!(week, 11 | 21 | 22);
    sessions.push(session("wednesday", &weeks(&pe), ("pe", "other", 60, 4.0)));
    for weekday in ["tuesday", "saturday"] {
        sessions.push(session(
            weekday,
            &[21],
            ("prescribed_home", "conditioning", 30, 4.0),
        ));
    }
    json!({ "first_week": "2026-W32", "weeks": 26, "sessions": sessions, "calendar": calendar(&weeks(&usual)) })
}

/// Games, try-outs and the tournament.
fn calendar(usual: &[u32]) -> Vec<Value> {
    let mut fixed = vec![
        session("sunday", &[3, 4], ("club", "game", 60, 7.0)),
        session("saturday", usual, ("club", "game", 60, 8.0)),
        session("friday", &[12], ("club", "other", 90, 8.0)),
        session("sunday", &[12], ("club", "other", 120, 8.0)),
    ];
    for weekday in ["monday", "tuesday", "wednesday"] {
        for _ in 0..2 {
            fixed.push(session(weekday, &[22], ("club", "game", 40, 8.0)));
        }
    }
    fixed
}

/// A session on a weekday of some weeks: setting, kind, minutes, intended session RPE.
pub(crate) fn session(
    weekday: &str,
    weeks: &[u32],
    (setting, kind, minutes, rpe): (&str, &str, u32, f64),
) -> Value {
    json!({
        "weekday": weekday, "in_weeks": weeks, "setting": setting, "kind": kind, "minutes": minutes, "intended_rpe": rpe,
    })
}

/// Tuesday 200, Thursday 200, Saturday 150, four times.
pub(crate) fn history() -> Vec<f64> {
    [0.0, 200.0, 0.0, 200.0, 0.0, 150.0, 0.0].repeat(4)
}

/// The numbers of the weeks for which something holds.
pub(crate) fn numbers(check: &Value, holds: impl Fn(&Value) -> bool) -> Vec<u64> {
    let weeks = check["weeks"].as_array().expect("weeks").iter();
    let found = weeks.filter(|week| holds(week));
    found
        .map(|week| week["number"].as_u64().expect("a number"))
        .collect()
}
