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
    /// Expected sessions without a report.
    pub unlogged: u32,
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

fn day(total: Option<&Logged>, rest_declared: bool, absence: Absence) -> Result<DayTotal, Problem> {
    let zero = Bounds::exact(Load::ZERO);
    let facts = DayFacts {
        absence,
        rest_declared,
        sessions: total.map_or(0, |day| day.sessions),
        expected: total.map_or(0, |day| day.expected),
        unlogged: total.map_or(0, |day| day.unlogged),
        ..DayFacts::default()
    };
    let (load, minutes) = total.map_or((zero, 0), |day| (day.load, day.minutes));
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
