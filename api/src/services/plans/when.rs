//! The weeks of a plan, and when a session of it is.

use jiff::civil::Date;
use plimsoll_domain::IsoWeek;
use plimsoll_domain::plan::Plan;
use serde_json::Number;

use super::input::{MOST_WEEKS, PlanInput, PlanSessionInput, allowed_weeks};
use crate::error::{Code, FieldProblem};
use crate::services::local_time::{EARLIEST, LATEST};
use crate::services::{closing, fields, local_time};
use crate::web::json::shorten_text;

/// The weeks of a plan.
#[derive(Debug, Clone, Copy)]
pub struct Weeks {
    /// The first.
    pub first: IsoWeek,
    /// How many.
    pub count: u8,
}

impl Weeks {
    /// Checks them; `least` weeks are those of the programme in the plan, 0 where it has none.
    pub fn check(input: &PlanInput, least: u8) -> Result<Self, FieldProblem> {
        let first = fields::week("/plan/first_week", &input.first_week)?;
        if !(EARLIEST..=LATEST).contains(&first.monday()) {
            let fault = FieldProblem::new("/plan/first_week", Code::OutOfRange, first.to_string());
            return Err(fault.allowed("weeks of the years 2000 to 2199"));
        }
        let allowed = match least {
            0 => allowed_weeks(),
            _ => format!("whole number from {least} to {}", Plan::MAX_WEEKS),
        };
        let Some(given) = &input.weeks else {
            let missing = || FieldProblem::missing("/plan/weeks", allowed);
            let count = Some(least).filter(|least| *least > 0);
            return Ok(Self {
                first,
                count: count.ok_or_else(missing)?,
            });
        };
        let count = fields::whole(given).and_then(|count| u8::try_from(count).ok());
        let count = count.filter(|count| (least.max(1)..=Plan::MAX_WEEKS).contains(count));
        let fault = || FieldProblem::new("/plan/weeks", Code::OutOfRange, given.clone());
        let count = count.ok_or_else(|| fault().allowed(allowed))?;
        Ok(Self { first, count })
    }

    fn week(self, number: i64) -> Option<IsoWeek> {
        let inside = (1..=i64::from(self.count)).contains(&number);
        let ahead = i32::try_from(number - 1).ok().filter(|_| inside)?;
        self.first.plus(ahead)
    }

    fn last(self) -> Date {
        let last = self.week(self.count.into());
        last.map_or(LATEST, IsoWeek::sunday)
    }
}

impl PlanSessionInput {
    /// Its dates, in order; the weeks are not looked at where those of the plan are wrong.
    pub fn dates(&self, place: &str, weeks: Option<Weeks>) -> Result<Vec<Date>, FieldProblem> {
        let at = |field: &str| format!("{place}/{field}");
        match (&self.date, &self.weekday, &self.in_weeks) {
            (Some(date), None, None) => {
                let read = local_time::date(&at("date"), date)?;
                let Some(weeks) = weeks else {
                    return Ok(Vec::new());
                };
                let dates = weeks.first.monday()..=weeks.last();
                let fault = || FieldProblem::new(at("date"), Code::OutOfRange, shorten_text(date));
                let allowed = || format!("{} to {}", dates.start(), dates.end());
                dates
                    .contains(&read)
                    .then(|| vec![read])
                    .ok_or_else(|| fault().allowed(allowed()))
            }
            (None, Some(weekday), Some(numbers)) => {
                let day = closing::weekday(&at("weekday"), Some(weekday))?;
                let Some(weeks) = weeks else {
                    return Ok(Vec::new());
                };
                on_weekday(&at("in_weeks"), (day, numbers), weeks)
            }
            (None, Some(_), None) => Err(FieldProblem::missing(at("in_weeks"), "numbers of weeks")),
            (None, None, Some(_)) => Err(FieldProblem::missing(at("weekday"), "a weekday")),
            (None, None, None) => Err(FieldProblem::missing(at("date"), EITHER)),
            (Some(date), _, _) => {
                let fault = FieldProblem::new(at("date"), Code::AmbiguousDay, shorten_text(date));
                Err(fault.allowed(EITHER))
            }
        }
    }
}

const EITHER: &str = "date, or weekday with in_weeks";

/// A weekday, 1 for Monday, in weeks of these numbers; each counts once.
fn on_weekday(
    pointer: &str,
    (weekday, numbers): (i32, &[Number]),
    weeks: Weeks,
) -> Result<Vec<Date>, FieldProblem> {
    if numbers.len() > MOST_WEEKS {
        let many = FieldProblem::new(pointer, Code::OutOfRange, format!("more than {MOST_WEEKS}"));
        return Err(many.allowed(format!("at most {MOST_WEEKS} entries")));
    }
    let mut dates = Vec::new();
    for (at, number) in numbers.iter().enumerate() {
        let week = fields::whole(number).and_then(|number| weeks.week(number));
        let fault =
            || FieldProblem::new(format!("{pointer}/{at}"), Code::OutOfRange, number.clone());
        let allowed = || format!("whole number from 1 to {}", weeks.count);
        let week = week.ok_or_else(|| fault().allowed(allowed()))?;
        let day = usize::try_from(weekday - 1).ok();
        dates.extend(day.and_then(|day| week.days().nth(day)));
    }
    dates.sort_unstable();
    dates.dedup();
    Ok(dates)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use serde_json::{Value, json};

    use super::*;

    fn dates(session: Value) -> Result<Vec<Date>, (String, Code)> {
        let plan = json!({ "first_week": "2026-W32", "weeks": 4, "sessions": [] });
        let plan: PlanInput = serde_json::from_value(plan).unwrap();
        let session: PlanSessionInput = serde_json::from_value(session).unwrap();
        let weeks = Weeks::check(&plan, 0).unwrap();
        let found = session.dates("/plan/sessions/0", Some(weeks));
        found.map_err(|fault| (fault.pointer, fault.code))
    }

    #[test]
    fn more_weeks_than_a_plan_has_are_refused_at_once() {
        let weeks: Vec<i64> = (1..=61).collect();
        let refused = dates(json!({ "weekday": "monday", "in_weeks": weeks }));
        let place = "/plan/sessions/0/in_weeks".to_owned();
        assert_eq!(refused, Err((place, Code::OutOfRange)));
    }

    #[test]
    fn a_weekday_counts_once_in_each_of_its_weeks() {
        let found = dates(json!({ "weekday": "sunday", "in_weeks": [4, 1, 4] }));
        assert_eq!(found.unwrap(), [date(2026, 8, 9), date(2026, 8, 30)]);
        let found = dates(json!({ "date": "2026-08-30" }));
        assert_eq!(found.unwrap(), [date(2026, 8, 30)]);
    }

    #[test]
    fn what_is_outside_or_said_twice_is_named() {
        for (session, field, code) in [
            (json!({ "date": "2026-08-31" }), "date", Code::OutOfRange),
            (json!({ "date": "2026-08-02" }), "date", Code::OutOfRange),
            (
                json!({ "weekday": "monday", "in_weeks": [5] }),
                "in_weeks/0",
                Code::OutOfRange,
            ),
            (
                json!({ "weekday": "someday", "in_weeks": [1] }),
                "weekday",
                Code::UnknownValue,
            ),
            (
                json!({ "weekday": "monday" }),
                "in_weeks",
                Code::MissingField,
            ),
            (json!({ "in_weeks": [1] }), "weekday", Code::MissingField),
            (json!({}), "date", Code::MissingField),
            (
                json!({ "date": "2026-08-03", "weekday": "monday" }),
                "date",
                Code::AmbiguousDay,
            ),
        ] {
            let expected = (format!("/plan/sessions/0/{field}"), code);
            assert_eq!(dates(session).unwrap_err(), expected);
        }
    }
}
