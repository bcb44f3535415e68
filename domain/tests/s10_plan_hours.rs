//! S10: hours, free days and games of a half-year plan, week by week.
//!
//! The scenario gives no times of day; those here are chosen so that nothing overlaps.
#![allow(clippy::unwrap_used)]

mod common;

use common::time::{by_pe, hours_by_age, judged_time, session};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::{
    Bounds, Certainty, Kind, Outcome, RollingWindow, RuleCode, SessionTime, Setting, densest,
    tournament,
};

const CERTAIN: Outcome = Outcome::Raised(Certainty::Certain);

/// Hours, free days and games of the half-year plan, every planned session taken as done.
const S10: [(&str, u8, u32); 26] = [
    ("6.75", 1, 0),
    ("7.75", 1, 0),
    ("8.75", 0, 1),
    ("8.75", 0, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("2.25", 4, 0),
    ("11.5", 0, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("3.25", 4, 0),
    ("3.25", 4, 0),
    ("1", 5, 0),
    ("4", 4, 6),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
    ("8", 1, 1),
];

const S10_MONDAY: Date = date(2026, 8, 3);

/// The sessions of one week of the plan: day, hour, kind, minutes.
fn s10_week(number: i64) -> Vec<(i64, i64, Kind, i64)> {
    use Kind::{Game, Other, Practice, Strength};
    let practice = |days: &[i64]| days.iter().map(|day| (*day, 17, Practice, 90)).collect();
    let strength = |days: &[i64], minutes| -> Vec<_> {
        let days = days.iter();
        days.map(|day| (*day, 7, Strength, minutes)).collect()
    };
    let mut sessions: Vec<_> = match number {
        11 => strength(&[0, 2, 4], 45),
        19 | 20 => [practice(&[0]), strength(&[3], 45)].concat(),
        21 => strength(&[1, 5], 30),
        22 => {
            let games = [0, 1, 2].iter();
            games
                .flat_map(|day| [(*day, 10, Game, 40), (*day, 15, Game, 40)])
                .collect()
        }
        1..=4 => [practice(&[0, 2, 3]), strength(&[1, 4, 5], 45)].concat(),
        _ => [practice(&[0, 2, 3]), strength(&[1, 4], 45)].concat(),
    };
    match number {
        3 | 4 => sessions.push((6, 15, Game, 60)),
        1 | 2 | 11 | 19..=22 => {}
        _ => sessions.push((5, 15, Game, 60)),
    }
    if number == 12 {
        sessions.extend([(4, 17, Other, 90), (6, 10, Other, 120)]);
    }
    if ![1, 11, 21, 22].contains(&number) {
        sessions.push((2, 10, Other, 60));
    }
    sessions
}

/// PE is the hour on Wednesday morning; all else is the club's or prescribed by it.
fn s10(number: i64) -> (Date, Vec<SessionTime>) {
    let monday = S10_MONDAY + (7 * (number - 1)).days();
    let sessions = s10_week(number).into_iter();
    let of = |(day, hour, kind, minutes): (i64, i64, Kind, i64)| {
        let setting = match (day, hour, kind) {
            (2, 10, Kind::Other) => Setting::Pe,
            (_, _, Kind::Strength) => Setting::PrescribedHome,
            _ => Setting::Club,
        };
        session(monday + day.days(), 60 * hour, minutes, setting, kind)
    };
    (monday, sessions.map(of).collect())
}

#[test]
fn s10_hours_free_days_and_games_of_the_plan() {
    let born = date(2010, 3, 15);
    let mut without_free_day = Vec::new();
    for (number, (hours_planned, free_days, games)) in (1..).zip(S10) {
        let (monday, sessions) = s10(number);
        let week = by_pe(&sessions, monday, 0).with_pe;
        assert_eq!(hours_by_age(born, &week).0, hours_planned, "week {number}");
        assert_eq!(week.free_days, Bounds::exact(free_days), "week {number}");
        let played = tournament(&sessions, monday, monday + 6.days()).total;
        assert_eq!(played.games, Bounds::exact(games), "week {number}");
        let by_age = judged_time(RuleCode::OrganisedHours, born, &week);
        assert!(by_age.is_within_policy(), "limit 16, most 11.5");
        if judged_time(RuleCode::FreeDays, born, &week).outcome() == CERTAIN {
            without_free_day.push(number);
        }
    }
    assert_eq!(without_free_day, [3, 4, 12]);
}

#[test]
fn s10_the_holiday_tournament_day_by_day() {
    let (monday, sessions) = s10(22);
    let found = tournament(&sessions, monday, monday + 2.days());
    for day in &found.days {
        assert_eq!(day.played.games, Bounds::exact(2));
        assert_eq!(day.played.minutes, Bounds::exact(80));
        assert_eq!(day.over_games_a_day(), Outcome::NotRaised);
    }
    assert_eq!(found.days.len(), 3);
    assert_eq!(found.total.minutes, Bounds::exact(240));
    let most = RollingWindow::ALL.iter();
    let most = most.map(|window| densest(&sessions, *window).games.point);
    assert_eq!(most.collect::<Vec<_>>(), [2, 4, 6, 6]);
}
