//! Taking values out of a body: each field on its own, every fault collected.

use jiff::civil::Date;
use plimsoll_domain::{GivenBy, IsoWeek, Minutes, Rpe, RpeError};
use serde_json::Number;

use super::{local_time, text};
use crate::auth::Role;
use crate::error::{Code, FieldProblem, Problem};
use crate::web::json::shorten_text;

/// Longest name and longest external id, in characters.
pub const LINE: usize = 200;

/// Collects faults while values are taken out.
#[derive(Debug, Default)]
pub struct Faults(Vec<FieldProblem>);

impl Faults {
    /// The value, or a fault more.
    pub fn take<T>(&mut self, outcome: Result<T, FieldProblem>) -> Option<T> {
        outcome.map_err(|fault| self.0.push(fault)).ok()
    }

    /// Adds faults found elsewhere.
    pub fn extend(&mut self, faults: impl IntoIterator<Item = FieldProblem>) {
        self.0.extend(faults);
    }

    /// Whether none was found.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Every fault, in the order they were found.
    pub fn into_vec(self) -> Vec<FieldProblem> {
        self.0
    }

    /// What was made of the values, unless a fault was found.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn settle<T>(self, made: Option<T>) -> Result<T, Problem> {
        match made {
            Some(made) if self.0.is_empty() => Ok(made),
            _ => Err(Problem::invalid(self.0)),
        }
    }
}

/// A line of text that must be there.
pub fn line(pointer: &str, given: Option<&str>) -> Result<String, FieldProblem> {
    let given =
        given.ok_or_else(|| FieldProblem::missing(pointer, format!("1 to {LINE} characters")))?;
    text::line(pointer, given, LINE).map(|()| given.to_owned())
}

/// A date that must be there, in a year that a club can have to do with.
pub fn date(pointer: &str, given: Option<&str>) -> Result<Date, FieldProblem> {
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, "YYYY-MM-DD"))?;
    local_time::near_date(pointer, given)
}

/// An ISO week.
pub fn week(pointer: &str, given: &str) -> Result<IsoWeek, FieldProblem> {
    given.parse().map_err(|_| {
        FieldProblem::new(pointer, Code::InvalidWeek, shorten_text(given))
            .allowed("YYYY-Www, such as 2026-W45")
    })
}

/// Applies a check to a field that may be absent.
pub fn optional<T>(
    pointer: &str,
    given: Option<&str>,
    check: impl Fn(&str, Option<&str>) -> Result<T, FieldProblem>,
) -> Result<Option<T>, FieldProblem> {
    given.map(|given| check(pointer, Some(given))).transpose()
}

/// Refuses a span that ends before it begins.
pub fn in_order(pointer: &str, from: Date, to: Date) -> Result<(), FieldProblem> {
    if from <= to {
        return Ok(());
    }
    Err(
        FieldProblem::new(pointer, Code::RangeReversed, to.to_string())
            .allowed(format!("{from} or later")),
    )
}

/// A value of a fixed list that must be there.
pub fn coded<T>(
    pointer: &str,
    given: Option<&str>,
    parse: impl Fn(&str) -> Option<T>,
    codes: impl Fn() -> String,
) -> Result<T, FieldProblem> {
    let text = given.ok_or_else(|| FieldProblem::missing(pointer, codes()))?;
    parse(text).ok_or_else(|| {
        FieldProblem::new(pointer, Code::UnknownValue, shorten_text(text)).allowed(codes())
    })
}

/// Codes as one text, for the `allowed` of a refusal.
pub fn list<'a>(codes: impl Iterator<Item = &'a str>) -> String {
    codes.collect::<Vec<_>>().join(", ")
}

/// What minutes of a session may be.
pub const MINUTES: &str = "whole number from 1 to 600";

/// Minutes of a session, which must be there.
pub fn minutes(pointer: &str, given: Option<&Number>) -> Result<Minutes, FieldProblem> {
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, MINUTES))?;
    whole(given)
        .and_then(|given| Minutes::new(given).ok())
        .ok_or_else(|| {
            FieldProblem::new(pointer, Code::MinutesOutOfRange, given.clone())
                .detail(format!("Minutes is {given}; it is a {MINUTES}."))
                .allowed(MINUTES)
        })
}

/// Session RPE from a JSON number, which must be there.
pub fn rpe(pointer: &str, given: Option<&Number>) -> Result<Rpe, FieldProblem> {
    const ALLOWED: &str = "0 to 10 in steps of 0.5";
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, ALLOWED))?;
    Rpe::from_f64(given.as_f64().unwrap_or(f64::NAN)).map_err(|error| {
        let code = match error {
            RpeError::OutOfRange => Code::RpeOutOfRange,
            RpeError::OffStep => Code::RpeStep,
        };
        FieldProblem::new(pointer, code, given.clone())
            .detail(format!("Session RPE is {given}; it goes from {ALLOWED}."))
            .allowed(ALLOWED)
    })
}

/// A whole number that a check takes, which must be there.
pub fn whole_of<T, E>(
    pointer: &str,
    given: Option<&Number>,
    allowed: &str,
    check: impl Fn(i64) -> Result<T, E>,
) -> Result<T, FieldProblem> {
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, allowed))?;
    let checked = whole(given).and_then(|whole| check(whole).ok());
    let refused = || FieldProblem::new(pointer, Code::OutOfRange, given.clone()).allowed(allowed);
    checked.ok_or_else(refused)
}

/// A JSON number without a fraction, 90.0 included.
pub fn whole(number: &Number) -> Option<i64> {
    number.as_i64().or_else(|| {
        let float = number.as_f64()?;
        let small = float.fract() == 0.0 && float.abs() < 1e9;
        #[expect(clippy::cast_possible_truncation, reason = "whole and below 1e9")]
        small.then_some(float as i64)
    })
}

/// Who said it, of a rating, a rest day or an absence. An athlete speaks for herself, a guardian for
/// the child or in the child's own words; staff are heard as the coach.
pub fn given_by(given: Option<&str>, role: Role) -> Result<GivenBy, FieldProblem> {
    let own = match role {
        Role::Guardian => GivenBy::Guardian,
        Role::Coach | Role::StrengthCoach | Role::AthleticTrainer => GivenBy::Coach,
        _ => GivenBy::Athlete,
    };
    if given.is_none() {
        return Ok(own);
    }
    let codes = || list(GivenBy::ALL.iter().map(|value| value.code()));
    let given = coded("/given_by", given, GivenBy::parse, codes)?;
    let allowed = match role {
        Role::Athlete => given == GivenBy::Athlete,
        Role::Guardian => given != GivenBy::Coach,
        Role::Coach | Role::StrengthCoach | Role::AthleticTrainer => given == GivenBy::Coach,
        _ => true,
    };
    if allowed {
        return Ok(given);
    }
    Err(
        FieldProblem::new("/given_by", Code::UnknownValue, given.code())
            .detail(format!(
                "The role {} cannot speak as the {}.",
                role.code(),
                given.code()
            ))
            .allowed(own.code()),
    )
}

#[cfg(test)]
mod tests {
    use jiff::civil::date as on;

    use super::*;

    #[test]
    fn a_value_is_settled_only_without_faults() {
        let mut faults = Faults::default();
        let name = faults.take(line("/name", Some("U16")));
        assert_eq!(name.as_deref(), Some("U16"));
        assert_eq!(faults.take(line("/name", None)), None);
        assert_eq!(faults.take(date("/from", Some("2026-02-30"))), None);
        let problem = faults.settle(name).unwrap_err();
        let codes: Vec<Code> = problem.errors.iter().map(|fault| fault.code).collect();
        assert_eq!(codes, [Code::MissingField, Code::InvalidDate]);
    }

    #[test]
    fn an_absent_field_is_no_fault_where_it_is_optional() {
        assert_eq!(optional("/to", None, date), Ok(None));
        assert_eq!(
            optional("/to", Some("2026-09-13"), date),
            Ok(Some(on(2026, 9, 13)))
        );
        assert!(optional("/to", Some("soon"), date).is_err());
    }

    #[test]
    fn dates_of_other_centuries_are_slips() {
        for far in ["0026-09-13", "1999-12-31", "2200-01-01", "9999-12-31"] {
            assert_eq!(
                date("/from", Some(far)).unwrap_err().code,
                Code::OutOfRange,
                "{far}"
            );
        }
    }

    #[test]
    fn roles_speak_only_for_those_they_may() {
        assert_eq!(given_by(None, Role::Athlete), Ok(GivenBy::Athlete));
        assert_eq!(given_by(None, Role::Coach), Ok(GivenBy::Coach));
        assert!(given_by(Some("athlete"), Role::Coach).is_err());
        assert!(given_by(Some("coach"), Role::Athlete).is_err());
        assert_eq!(
            given_by(Some("athlete"), Role::Guardian),
            Ok(GivenBy::Athlete)
        );
        assert_eq!(
            given_by(Some("guardian"), Role::Integration),
            Ok(GivenBy::Guardian)
        );
        assert_eq!(
            given_by(Some("aunt"), Role::Guardian).unwrap_err().code,
            Code::UnknownValue
        );
    }
}
