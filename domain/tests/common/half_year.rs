//! A half-year plan of an invented athlete: 26 weeks from Monday 3 August 2026, after four weeks of 550
//! AU.

use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::plan::{Plan, PlanSession};
use plimsoll_domain::{DailySeries, IsoWeek, Kind, Minutes, Rpe, Setting};

use super::series;

pub const MONDAY: Date = date(2026, 8, 3);

/// Tuesday 200, Thursday 200, Saturday 150, four times.
pub fn history() -> DailySeries {
    series(
        date(2026, 7, 6),
        &[0.0, 200.0, 0.0, 200.0, 0.0, 150.0, 0.0].repeat(4),
    )
}

pub fn plan() -> Plan {
    let sessions = (1..=26).flat_map(week).collect();
    Plan::new(IsoWeek::of(MONDAY).unwrap(), 26, sessions).unwrap()
}

const MON: i64 = 0;
const TUE: i64 = 1;
const WED: i64 = 2;
const THU: i64 = 3;
const FRI: i64 = 4;
const SAT: i64 = 5;
const SUN: i64 = 6;

fn week(number: i64) -> Vec<PlanSession> {
    let with = |days: &[i64], setting, kind, minutes, rpe| -> Vec<PlanSession> {
        let on = |day: &i64| PlanSession {
            start: None,
            date: MONDAY.saturating_add((7 * (number - 1) + day).days()),
            setting,
            kind,
            intended: Rpe::from_f64(rpe).unwrap(),
            minutes: Minutes::new(minutes).unwrap(),
            protected: false,
            contacts: None,
            warm_up: None,
        };
        days.iter().map(on).collect()
    };
    let protected = |sessions: Vec<PlanSession>| -> Vec<PlanSession> {
        let keep = |one| PlanSession {
            protected: true,
            ..one
        };
        sessions.into_iter().map(keep).collect()
    };
    let practice = |days: &[i64], rpe| with(days, Setting::Club, Kind::Practice, 90, rpe);
    let cycle = [4.0, 5.0, 6.0, 7.0][usize::try_from(number % 4).unwrap()];
    let strength = |days: &[i64], rpe| with(days, Setting::PrescribedHome, Kind::Strength, 45, rpe);
    let game = |day, rpe| protected(with(&[day], Setting::Club, Kind::Game, 60, rpe));
    let pe = || with(&[WED], Setting::Pe, Kind::Other, 60, 4.0);
    let home = |days: &[i64]| with(days, Setting::PrescribedHome, Kind::Conditioning, 30, 4.0);
    match number {
        1..=4 => [
            practice(&[MON, WED, THU], 5.0),
            strength(&[TUE, FRI, SAT], cycle),
            if number > 1 { pe() } else { Vec::new() },
            if number > 2 {
                game(SUN, 7.0)
            } else {
                Vec::new()
            },
        ]
        .concat(),
        11 => strength(&[MON, WED, FRI], cycle),
        19 | 20 => [practice(&[MON], 5.0), strength(&[THU], 4.0), pe()].concat(),
        21 => home(&[TUE, SAT]),
        22 => {
            let days = [MON, MON, TUE, TUE, WED, WED];
            protected(with(&days, Setting::Club, Kind::Game, 40, 8.0))
        }
        _ => [
            practice(&[MON, WED, THU], 6.0),
            strength(&[TUE, FRI], cycle),
            pe(),
            game(SAT, 8.0),
            if number == 12 {
                try_outs(with)
            } else {
                Vec::new()
            },
        ]
        .concat(),
    }
}

fn try_outs(
    with: impl Fn(&[i64], Setting, Kind, i64, f64) -> Vec<PlanSession>,
) -> Vec<PlanSession> {
    let friday = with(&[FRI], Setting::Club, Kind::Other, 90, 8.0);
    let sunday = with(&[SUN], Setting::Club, Kind::Other, 120, 8.0);
    let keep = |one| PlanSession {
        protected: true,
        ..one
    };
    [friday, sunday].concat().into_iter().map(keep).collect()
}
