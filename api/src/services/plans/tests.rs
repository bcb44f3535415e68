//! Plans judged and changed without a database.

use jiff::civil::date;
use plimsoll_domain::{IsoWeek, PolicyDraft, RuleCode};
use serde_json::{Value, json};

use super::changes::{BuildUpAsked, OthersAsked, Wanted};
use super::*;
use crate::error::Code;

fn session(date: &str, kind: &str, (minutes, rpe): (u32, f64)) -> Value {
    json!({ "date": date, "setting": "club", "kind": kind, "minutes": minutes, "intended_rpe": rpe })
}

/// A plan of one week from Monday 2 November 2026, under the example policy.
fn ready(sessions: &Value, calendar: &Value, history: Value) -> ReadyPlan {
    let plan =
        json!({ "first_week": "2026-W45", "weeks": 1, "sessions": sessions, "calendar": calendar });
    let plan: PlanInput = serde_json::from_value(plan).unwrap();
    let history: HistoryInput = serde_json::from_value(history).unwrap();
    let given = Given {
        plan: &plan,
        stored: None,
        history: Some(&history),
        athlete_id: None,
        squad_id: None,
        limit: None,
        as_of: None,
    };
    let asked = Asked::check(given, &mut Faults::default()).unwrap();
    let Reference::Typed(athlete) = asked.reference else {
        panic!("the history was typed");
    };
    let policy = PolicyDraft::example(date(2026, 8, 3), "Head of training");
    let policy = policy.check().unwrap();
    ReadyPlan {
        by: JudgedBy::of(Some(&policy), None, date(2026, 11, 2)).unwrap(),
        plan: asked.plan,
        athletes: vec![athlete],
        as_of: Timestamp::UNIX_EPOCH,
    }
}

fn week() -> IsoWeek {
    "2026-W45".parse().unwrap()
}

fn within() -> Wanted {
    Wanted {
        week: Some((week(), week().monday())),
        ..Wanted::default()
    }
}

/// After 3350 AU in three weeks the limit is 2010; 2400 are planned.
fn over() -> ReadyPlan {
    let sessions = json!([
        session("2026-11-03", "strength", (60, 5.0)),
        session("2026-11-05", "practice", (90, 6.0)),
    ]);
    let games = json!([
        session("2026-11-07", "game", (65, 8.0)),
        session("2026-11-08", "game", (130, 8.0))
    ]);
    let history = json!({ "week_loads_au": [950, 1000, 1400], "birth_date": "2008-05-01" });
    ready(&sessions, &games, history)
}

#[test]
fn a_week_over_its_limit_is_said_in_words() {
    let ready = over();
    let judged = ready.check(&ready.athletes[0]).unwrap();
    assert!(judged[0].is_over());
    let broken: Vec<RuleCode> = judged[0].broken().iter().map(|one| one.rule()).collect();
    assert_eq!(broken, [RuleCode::WeekEndRatio]);
    let said = words::sentences(&judged, 2);
    assert_eq!(
        said[0],
        "2026-W45: 2400 AU planned, 390 AU above the club limit of 2010 AU."
    );
    let last = said.last().unwrap();
    assert!(
        last.starts_with("2 organisations share no loads with the club"),
        "{last}"
    );
    let hours = "The rule on organised hours cannot be judged in 2026-W45 (no birth date)";
    let says_hours = |said: &[String]| said.iter().any(|one| one.starts_with(hours));
    assert!(!says_hours(&said), "{said:?}");
    let mut unknown = ready.athletes[0].clone();
    unknown.born = None;
    let said = words::sentences(&ready.check(&unknown).unwrap(), 0);
    assert!(says_hours(&said), "{said:?}");
    let nothing = words::sentences(&[], 0);
    assert_eq!(
        nothing,
        ["As planned no week breaks a rule that can be judged."]
    );
}

#[test]
fn s11_practice_gives_65_minutes() {
    let ready = over();
    let changes = ready.changes(&ready.athletes[0], &within()).unwrap();
    let found = changes.within_week.unwrap().week_view;
    assert_eq!(found.total.unwrap().to_au(), 390.0);
    let given: Vec<(&str, u16, u16)> = found
        .sessions
        .iter()
        .map(|one| {
            (
                one.session.place.as_str(),
                one.cut_minutes,
                one.kept_minutes,
            )
        })
        .collect();
    assert_eq!(given, [("/plan/sessions/1", 65, 25)]);
}

#[test]
fn what_is_done_cannot_be_cut() {
    let ready = over();
    let from = date(2026, 11, 6);
    let wanted = Wanted {
        week: Some((week(), from)),
        ..Wanted::default()
    };
    let changes = ready.changes(&ready.athletes[0], &wanted).unwrap();
    let found = changes.within_week.unwrap().week_view;
    assert_eq!((found.total, found.sessions.len()), (None, 0));
    assert_eq!(found.short_by.to_f64(), 390.0);
}

/// The weeks before the first are done: nothing can be added to them.
#[test]
fn a_build_up_needs_weeks_that_are_still_to_come() {
    let cup = json!([session("2026-11-07", "game", (210, 10.0))]);
    let history = json!({ "week_loads_au": [950, 1000, 1400], "birth_date": "2008-05-01" });
    let ready = ready(&json!([]), &cup, history);
    let others = OthersAsked {
        build_up: Some(BuildUpAsked { from_age: 16 }),
        fewer_games: true,
        ..OthersAsked::default()
    };
    let wanted = Wanted { week: None, others };
    let changes = ready.changes(&ready.athletes[0], &wanted).unwrap();
    let build_ups = changes.others.build_ups.unwrap();
    assert_eq!(build_ups[0].found, Err("weeks_before_are_done"));
    let games = changes.others.fewer_games.unwrap();
    assert_eq!((games[0].games, games[0].fitting), (1, 0));
}

#[test]
fn a_week_too_large_to_search_is_refused() {
    let long: Vec<Value> = (2..=8)
        .flat_map(|day| {
            let date = format!("2026-11-0{day}");
            [(0, 500), (1, 500), (2, 500)]
                .map(|(_, minutes)| session(&date, "practice", (minutes, 9.5)))
        })
        .collect();
    let history = json!({ "week_loads_au": [950, 1000, 1400] });
    let ready = ready(&json!(long), &json!([]), history);
    let refused = ready.changes(&ready.athletes[0], &within()).unwrap_err();
    assert_eq!(
        (refused.errors[0].pointer.as_str(), refused.errors[0].code),
        ("/week", Code::OutOfRange)
    );
}
