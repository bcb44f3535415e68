//! From stored day totals, rest days and absences to the domain's daily series.

use jiff::civil::Date;
use plimsoll_domain::{Absence, Bounds, DailySeries, DayFacts, DayTotal, Load, SeriesError};

use crate::error::Problem;

/// One date's totals over the settings that count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Logged {
    /// The date.
    pub date: Date,
    /// Load as logged and its bounds.
    pub load: Bounds<Load>,
    /// Minutes reported.
    pub minutes: u32,
    /// Sessions reported.
    pub sessions: u32,
    /// Sessions expected.
    pub expected: u32,
    /// Expected sessions without an answer.
    pub unlogged: u32,
    /// The most those can have been.
    pub unlogged_at_most: Load,
}

/// What is known of one athlete's days.
#[derive(Debug, Clone, Default)]
pub struct Facts {
    /// Totals by date, ascending; dates without any are left out.
    pub logged: Vec<Logged>,
    /// Declared rest days, ascending.
    pub rest: Vec<Date>,
    /// Absences: first and last date, both included.
    pub absences: Vec<(Date, Date)>,
}

/// The dense series from `first`, or from the first membership date where that is later, to `last`;
/// `None` where that is no day at all. A series that begins later than the membership is a slice:
/// figures that need more say so.
pub fn build(
    member_since: Date,
    first: Date,
    last: Date,
    facts: &Facts,
) -> Result<Option<DailySeries>, Problem> {
    let first = first.max(member_since);
    if last < first {
        return Ok(None);
    }
    let mut logged = facts
        .logged
        .iter()
        .filter(|day| day.date >= first)
        .peekable();
    let mut rest = facts.rest.iter().filter(|date| **date >= first).peekable();
    let mut days = Vec::new();
    let dates = std::iter::successors(Some(first), |date| date.tomorrow().ok());
    for date in dates.take_while(|date| *date <= last) {
        let total = logged.next_if(|day| day.date == date);
        let rest_declared = rest.next_if(|day| **day == date).is_some();
        days.push(day(
            total,
            rest_declared,
            absence_at(&facts.absences, date),
        )?);
    }
    DailySeries::new(member_since, first, days)
        .map(Some)
        .map_err(unbuildable)
}

/// One date. A declared rest day or an absence answers for what was expected. No date holds more than
/// the longest civil day: what sources claim beyond it is cut.
fn day(total: Option<&Logged>, rest_declared: bool, absence: Absence) -> Result<DayTotal, Problem> {
    let Some(total) = total else {
        let facts = DayFacts {
            absence,
            rest_declared,
            ..DayFacts::default()
        };
        return DayTotal::new(facts, Bounds::default(), 0)
            .map_err(|error| unbuildable(error.into()));
    };
    let answered = rest_declared || absence != Absence::None;
    let (unlogged, at_most) = if answered {
        (0, Load::ZERO)
    } else {
        (total.unlogged, total.unlogged_at_most)
    };
    let facts = DayFacts {
        absence,
        rest_declared,
        sessions: total.sessions,
        expected: total.expected,
        unlogged,
        ..DayFacts::default()
    };
    let load = Bounds {
        high: total.load.high + at_most,
        ..total.load
    };
    let load = load.map(|load| load.min(Load::DAY_MAX));
    let minutes = total.minutes.min(DayTotal::MAX_MINUTES);
    DayTotal::new(facts, load, minutes).map_err(|error| unbuildable(error.into()))
}

/// The longest absence that holds the date.
fn absence_at(absences: &[(Date, Date)], date: Date) -> Absence {
    let days = absences
        .iter()
        .filter(|(from, to)| (*from..=*to).contains(&date))
        .map(|(from, to)| to.duration_since(*from).as_hours() / 24 + 1)
        .max();
    Absence::of_days(days.unwrap_or(0))
}

/// Stored days that make no series are a defect of ours, never of the request.
fn unbuildable(error: SeriesError) -> Problem {
    Problem::internal(&error)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use plimsoll_domain::DayState;

    use super::*;

    fn logged(date: Date, au: u16) -> Logged {
        let load = Bounds::exact(Load::from_au(au));
        Logged {
            date,
            load,
            minutes: 60,
            sessions: 1,
            expected: 0,
            unlogged: 0,
            unlogged_at_most: Load::ZERO,
        }
    }

    #[test]
    fn every_date_is_there_in_its_state() {
        let facts = Facts {
            logged: vec![logged(date(2026, 9, 2), 300), logged(date(2026, 9, 5), 200)],
            rest: vec![date(2026, 9, 3), date(2026, 9, 5)],
            absences: vec![(date(2026, 9, 6), date(2026, 9, 7))],
        };
        let series = build(date(2026, 9, 1), date(2026, 9, 1), date(2026, 9, 7), &facts)
            .unwrap()
            .unwrap();
        let states: Vec<DayState> = series.days().iter().map(DayTotal::state).collect();
        assert_eq!(
            states,
            [
                DayState::AssumedRest,
                DayState::Reported,
                DayState::RestDeclared,
                DayState::AssumedRest,
                DayState::Reported,
                DayState::Absence,
                DayState::Absence,
            ]
        );
    }

    #[test]
    fn unlogged_sessions_widen_a_day_unless_rest_or_absence_answers() {
        let open = Logged {
            expected: 2,
            unlogged: 1,
            unlogged_at_most: Load::from_au(900),
            ..logged(date(2026, 9, 1), 300)
        };
        let high = |rest, absence| {
            let day = day(Some(&open), rest, absence).unwrap();
            (day.load().high.to_au(), day.state())
        };
        assert_eq!(
            high(false, Absence::None),
            (1200.0, DayState::PartlyReported)
        );
        assert_eq!(high(true, Absence::None), (300.0, DayState::Reported));
        assert_eq!(high(false, Absence::Short), (300.0, DayState::Reported));
    }

    #[test]
    fn no_date_holds_more_than_a_day() {
        let mut long = logged(date(2026, 9, 1), 15_001);
        long.minutes = 1_501;
        let day = day(Some(&long), false, Absence::None).unwrap();
        assert_eq!((day.load().point, day.minutes()), (Load::DAY_MAX, 1_500));
    }

    #[test]
    fn what_lies_before_joining_does_not_count() {
        let facts = Facts {
            logged: vec![logged(date(2026, 8, 31), 300)],
            ..Facts::default()
        };
        let series = build(date(2026, 9, 1), date(2026, 8, 1), date(2026, 9, 1), &facts)
            .unwrap()
            .unwrap();
        assert_eq!(series.days()[0].load().point, Load::ZERO);
        assert!(
            build(
                date(2026, 9, 1),
                date(2026, 8, 1),
                date(2026, 8, 31),
                &facts
            )
            .unwrap()
            .is_none()
        );
    }

    #[test]
    fn an_absence_of_fourteen_days_is_long() {
        let spans = [(date(2026, 10, 5), date(2026, 10, 18))];
        assert_eq!(absence_at(&spans, date(2026, 10, 5)), Absence::Long);
        assert_eq!(absence_at(&spans, date(2026, 10, 19)), Absence::None);
    }
}
