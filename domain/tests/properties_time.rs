//! Invariants of organised time and of games that hold for any sessions, as properties.
#![allow(clippy::unwrap_used)]

mod common;

use common::time::{self, by_pe};
use jiff::civil::{Date, date};
use jiff::{ToSpan, Unit};
use plimsoll_domain::age::completed_years;
use plimsoll_domain::{
    Attended, Bounds, ByPe, Certainty, Kind, Minutes, OrganisedWeek, RollingWindow, SessionTime,
    Setting, Slot, densest, near_sessions, tournament,
};
use proptest::prelude::*;

const MONDAY: Date = date(2026, 11, 9);

/// A session that begins so many hours after Monday 00:00.
fn session(hour: i64, minutes: i64, setting: Setting, kind: Kind, known: bool) -> SessionTime {
    let date = MONDAY + hour.div_euclid(24).days();
    let session = time::session(date, 60 * hour.rem_euclid(24), minutes, setting, kind);
    let planned = Minutes::new(minutes).unwrap();
    let attended = if known {
        Attended::Known(planned)
    } else {
        Attended::Unlogged { planned }
    };
    SessionTime {
        attended,
        ..session
    }
}

fn any_date() -> impl Strategy<Value = Date> {
    (0..40_000_i64).prop_map(|days| date(1970, 1, 1) + days.days())
}

/// Sessions of up to an hour that begin on the hour, at most one an hour, so that none overlap.
fn sessions(hours: std::ops::Range<i64>) -> impl Strategy<Value = Vec<SessionTime>> {
    let settings = prop::sample::select(Setting::ALL);
    let kinds = prop::sample::select(&[Kind::Practice, Kind::Game][..]);
    let of_hour = (1..=60_i64, settings, kinds, any::<bool>());
    prop::collection::btree_map(hours, of_hour, 0..20).prop_map(|by_hour| {
        let sessions = by_hour.into_iter();
        sessions
            .map(|(hour, (minutes, setting, kind, known))| {
                session(hour, minutes, setting, kind, known)
            })
            .collect()
    })
}

fn all_known(sessions: &[SessionTime]) -> Vec<SessionTime> {
    let known = |session: &SessionTime| SessionTime {
        attended: match session.attended {
            Attended::Unlogged { planned } => Attended::Known(planned),
            known @ Attended::Known(_) => known,
        },
        ..*session
    };
    sessions.iter().map(known).collect()
}

fn with_pe(sessions: &[SessionTime]) -> OrganisedWeek {
    by_pe(sessions, MONDAY, 0).with_pe
}

fn in_order<T: PartialOrd>(bounds: &Bounds<T>) -> bool {
    bounds.low <= bounds.point && bounds.point <= bounds.high
}

proptest! {
    /// As many years as jiff, the calendar library, counts between the two dates; it has its own mind about
    /// 29 February, which the scenario fixes.
    #[test]
    fn completed_years_are_those_of_the_calendar(born in any_date(), days in 0..40_000_i64) {
        let on = born + days.days();
        prop_assume!((born.month(), born.day()) != (2, 29));
        let between = born.until((Unit::Year, on)).unwrap();
        let years = completed_years(born, on).unwrap();
        prop_assert_eq!(i16::from(years), between.get_years());
    }

    #[test]
    fn bounds_enclose_what_is_logged_and_are_met_by_logging_everything(
        sessions in sessions(0..168),
    ) {
        let week = with_pe(&sessions);
        prop_assert!(in_order(&week.minutes) && in_order(&week.free_days));
        prop_assert!(week.free_days.high <= 7);
        let logged = with_pe(&all_known(&sessions));
        prop_assert_eq!(logged.minutes, Bounds::exact(week.minutes.high));
        prop_assert_eq!(logged.free_days, Bounds::exact(week.free_days.low));
    }

    #[test]
    fn logging_one_session_within_its_bounds_never_widens_the_bounds(
        sessions in sessions(0..168),
        which in any::<prop::sample::Index>(),
        minutes in 1..=60_u16,
    ) {
        prop_assume!(!sessions.is_empty());
        let before = with_pe(&sessions);
        let mut logged = sessions.clone();
        let session = &mut logged[which.index(sessions.len())];
        if let Attended::Unlogged { planned } = session.attended {
            let minutes = minutes.min(planned.get());
            session.attended = Attended::Known(Minutes::new(minutes.into()).unwrap());
        }
        let after = with_pe(&logged);
        prop_assert!(after.minutes.low >= before.minutes.low);
        prop_assert!(after.minutes.high <= before.minutes.high);
        prop_assert!(after.free_days.low >= before.free_days.low);
        prop_assert!(after.free_days.high <= before.free_days.high);
    }

    #[test]
    fn pe_only_adds_hours_and_takes_free_days(sessions in sessions(0..168)) {
        let ByPe { with_pe, without_pe } = by_pe(&sessions, MONDAY, 0);
        prop_assert!(with_pe.minutes.low >= without_pe.minutes.low);
        prop_assert!(with_pe.minutes.high >= without_pe.minutes.high);
        prop_assert!(with_pe.free_days.low <= without_pe.free_days.low);
        prop_assert!(with_pe.free_days.high <= without_pe.free_days.high);
        let other = sessions.into_iter().filter(|session| session.slot.setting != Setting::Pe);
        let other = by_pe(&other.collect::<Vec<_>>(), MONDAY, 0);
        prop_assert_eq!(other.with_pe, without_pe);
    }

    #[test]
    fn splitting_a_session_changes_neither_hours_nor_free_days(
        sessions in sessions(0..168),
        first in 1..60_i64,
    ) {
        let whole = session(200, 60, Setting::Club, Kind::Practice, true);
        let halves = [
            session(200, first, Setting::Club, Kind::Practice, true),
            session(201, 60 - first, Setting::Club, Kind::Practice, true),
        ];
        let next = MONDAY + 7.days();
        let with = |more: &[SessionTime]| by_pe(&[&sessions[..], more].concat(), next, 0);
        prop_assert_eq!(with(&[whole]), with(&halves));
        prop_assert_eq!(with(&[whole]).with_pe.minutes, Bounds::exact(60));
    }

    #[test]
    fn a_week_later_gives_the_same_a_week_later(sessions in sessions(0..168)) {
        let later = sessions.iter().map(|session| SessionTime {
            slot: Slot {
                date: session.slot.date + 7.days(),
                start: session.slot.start + 7 * 24 * 3600,
                end: session.slot.end + 7 * 24 * 3600,
                ..session.slot
            },
            ..*session
        });
        let later: Vec<_> = later.collect();
        let moved = by_pe(&later, MONDAY + 7.days(), 0).with_pe;
        let week = with_pe(&sessions);
        prop_assert_eq!(moved, OrganisedWeek { week: moved.week, ..week });
        for window in RollingWindow::ALL {
            prop_assert_eq!(densest(&later, *window), densest(&sessions, *window));
        }
    }

    /// Against every window that begins on an hour, the only instants at which a game begins.
    #[test]
    fn the_densest_window_is_the_densest_of_all_windows(sessions in sessions(0..300)) {
        let games = || sessions.iter().filter(|session| session.kind == Kind::Game);
        let first_hour = session(0, 60, Setting::Club, Kind::Game, true).slot.start;
        for window in RollingWindow::ALL {
            let within = |from: i64, session: &SessionTime| {
                let hour = (session.slot.start - first_hour) / 3600;
                from <= hour && hour < from + window.hours()
            };
            let most = |count: fn(&SessionTime) -> u32| {
                let sum = |from| games().filter(|it| within(from, it)).map(count).sum();
                (-170..300).map(sum).max().unwrap_or(0)
            };
            let found = densest(&sessions, *window);
            prop_assert_eq!(found.games.low, most(|it| u32::from(it.is_known())));
            prop_assert_eq!(found.games.high, most(|_| 1));
            prop_assert_eq!(found.minutes.low, most(|it| it.attended.minutes().low));
            prop_assert_eq!(found.minutes.high, most(|it| it.attended.minutes().high));
            prop_assert_eq!(found.games.point, found.games.low);
        }
    }

    #[test]
    fn the_days_of_a_tournament_add_up_to_its_total(sessions in sessions(0..168)) {
        let found = tournament(&sessions, MONDAY, MONDAY + 6.days());
        let games = found.days.iter().map(|day| day.played.games);
        let minutes = found.days.iter().map(|day| day.played.minutes);
        let add = |sum: Bounds<u32>, day: Bounds<u32>| sum + day;
        prop_assert_eq!(games.fold(Bounds::default(), add), found.total.games);
        prop_assert_eq!(minutes.fold(Bounds::default(), add), found.total.minutes);
        let seven_days = densest(&sessions, RollingWindow::Days7);
        prop_assert_eq!(seven_days, found.total);
    }

    /// Against every pair of sessions of a date.
    #[test]
    fn near_sessions_are_those_of_all_pairs(sessions in sessions(0..72)) {
        let follows = |first: &SessionTime, second: &SessionTime| {
            let seconds = second.slot.start - first.slot.end;
            first.slot.date == second.slot.date && (0..3 * 3600).contains(&seconds)
        };
        let mut expected = Vec::new();
        for second in &sessions {
            let before = || sessions.iter().filter(|first| follows(first, second));
            let known = second.is_known() && before().any(SessionTime::is_known);
            if known {
                expected.push((second.slot.start, Certainty::Certain));
            } else if before().next().is_some() {
                expected.push((second.slot.start, Certainty::Possible));
            }
        }
        let found = near_sessions(&sessions).into_iter();
        let found: Vec<_> = found.map(|near| (near.second.session.slot.start, near.certainty)).collect();
        prop_assert_eq!(found, expected);
    }
}
