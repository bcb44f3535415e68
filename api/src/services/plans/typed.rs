//! A history that is typed, as days that end on the one before the plan.

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::{DailySeries, Load};
use serde_json::Number;

use super::history::PlanAthlete;
use super::input::{HistoryInput, MOST_TYPED_WEEKS};
use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};

const LISTS: &str = "exactly one of week_loads_au and day_loads_au";

/// A typed history.
pub fn typed(
    input: &HistoryInput,
    monday: Option<Date>,
    faults: &mut Faults,
) -> Option<PlanAthlete> {
    let born = input.birth_date.as_deref();
    let born = faults.take(fields::optional("/history/birth_date", born, fields::date));
    let week = i64::try_from(MOST_TYPED_WEEKS).ok()? * 7;
    let loads = match (&input.week_loads_au, &input.day_loads_au) {
        (Some(weeks), None) => {
            let pointer = "/history/week_loads_au";
            let most = Load::from_half_au(7 * Load::DAY_MAX.half_au())?;
            let weeks = faults.take(loads(pointer, weeks, (MOST_TYPED_WEEKS, most)));
            weeks.map(|weeks| weeks.into_iter().flat_map(spread).collect())
        }
        (None, Some(days)) => {
            let pointer = "/history/day_loads_au";
            let most = (usize::try_from(week).ok()?, Load::DAY_MAX);
            faults.take(loads(pointer, days, most))
        }
        (None, None) => faults.take(Err(FieldProblem::missing("/history/week_loads_au", LISTS))),
        (Some(_), Some(_)) => {
            let fault =
                FieldProblem::new("/history/day_loads_au", Code::AmbiguousHistory, "a list");
            faults.take(Err(fault.allowed(LISTS)))
        }
    };
    let (loads, born): (Vec<Load>, _) = (loads?, born?);
    let length = i64::try_from(loads.len()).ok()?;
    let first = monday?.checked_sub(Span::new().days(length)).ok()?;
    Some(PlanAthlete {
        days: DailySeries::of_loads(first, &loads).ok(),
        born,
        ..PlanAthlete::default()
    })
}

/// Loads without holes, so many at most and none of them above the most.
fn loads(
    pointer: &str,
    given: &[Option<Number>],
    (longest, most): (usize, Load),
) -> Result<Vec<Load>, FieldProblem> {
    if given.len() > longest {
        let fault = FieldProblem::new(pointer, Code::OutOfRange, given.len());
        return Err(fault.allowed(format!("at most {longest} loads")));
    }
    let allowed = format!("0 to {most} in steps of 0.5");
    let read = |(at, load): (usize, &Option<Number>)| {
        let pointer = format!("{pointer}/{at}");
        let Some(load) = load else {
            let fault = FieldProblem::new(pointer, Code::HistoryHole, serde_json::Value::Null);
            return Err(fault.allowed(format!("{allowed}; 0 where there was no training")));
        };
        let half = load.as_f64().map(|au| au * 2.0);
        let whole = half.filter(|half| half.fract() == 0.0 && half.abs() < 1e9);
        #[expect(clippy::cast_possible_truncation, reason = "whole and below 1e9")]
        let read = whole.and_then(|half| Load::from_half_au(half as i64));
        let fault = || FieldProblem::new(pointer, Code::OutOfRange, load.clone());
        read.filter(|load| *load <= most)
            .ok_or_else(|| fault().allowed(allowed.clone()))
    };
    given.iter().enumerate().map(read).collect()
}

/// A week's load over its days, as evenly as half-AU allow.
fn spread(week: Load) -> impl Iterator<Item = Load> {
    let (each, rest) = (week.half_au() / 7, week.half_au() % 7);
    (0..7).filter_map(move |day| Load::from_half_au(each + i64::from(day < rest)))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use serde_json::{Value, json};

    use super::*;

    const MONDAY: Date = date(2026, 8, 3);

    fn read(history: Value) -> Result<PlanAthlete, Vec<FieldProblem>> {
        let input: HistoryInput = serde_json::from_value(history).unwrap();
        let mut faults = Faults::default();
        let found = typed(&input, Some(MONDAY), &mut faults);
        found.ok_or_else(|| faults.into_vec())
    }

    fn loads_of(history: Value) -> Vec<f64> {
        let days = read(history).unwrap().days.unwrap();
        assert_eq!(days.last(), date(2026, 8, 2));
        let loads = days.days().iter().map(|day| day.load().point.to_au());
        loads.collect()
    }

    #[test]
    fn days_end_on_the_sunday_before() {
        let days = loads_of(json!({ "day_loads_au": [0, 200, 0, 200.5] }));
        assert_eq!(days, [0.0, 200.0, 0.0, 200.5]);
        let none = read(json!({ "week_loads_au": [] })).unwrap();
        assert_eq!(none.days, None);
    }

    #[test]
    fn a_week_is_spread_and_stays_whole() {
        let days = loads_of(json!({ "week_loads_au": [550, 0.5] }));
        assert_eq!(days.len(), 14);
        assert_eq!(days[..7].iter().sum::<f64>(), 550.0);
        assert_eq!(days[7..], [0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
        assert!(days[..7].iter().all(|load| (78.5..=79.0).contains(load)));
    }

    #[test]
    fn holes_and_loads_that_cannot_be_are_named() {
        for (history, pointer, code) in [
            (
                json!({ "week_loads_au": [1, null] }),
                "/history/week_loads_au/1",
                Code::HistoryHole,
            ),
            (
                json!({ "day_loads_au": [15_000.5] }),
                "/history/day_loads_au/0",
                Code::OutOfRange,
            ),
            (
                json!({ "day_loads_au": [0.25] }),
                "/history/day_loads_au/0",
                Code::OutOfRange,
            ),
            (
                json!({ "week_loads_au": vec![1; 27] }),
                "/history/week_loads_au",
                Code::OutOfRange,
            ),
            (json!({}), "/history/week_loads_au", Code::MissingField),
        ] {
            let faults = read(history).unwrap_err();
            let found = (faults[0].pointer.as_str(), faults[0].code);
            assert_eq!(found, (pointer, code));
            assert!(faults[0].allowed.is_some());
        }
    }
}
