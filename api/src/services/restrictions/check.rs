//! The days of a restriction and its limits, each checked on its own.

use jiff::Span;
use jiff::civil::Date;
use serde_json::Number;

use crate::error::{Code, FieldProblem};
use crate::services::fields;
use crate::store::RestrictedTo;
use crate::store::restrictions::Restriction;

/// A limited restriction that limits nothing, or limits of somebody who takes no part.
pub(super) fn nothing_limited(made: &Restriction) -> Option<FieldProblem> {
    let limits = [
        made.max_minutes.is_some(),
        made.max_week_au.is_some(),
        made.max_contacts.is_some(),
        made.no_games,
        made.no_jumps,
        made.no_throws,
        made.no_contact,
        made.instruction.is_some(),
    ];
    let is_empty = made.availability == RestrictedTo::Limited && !limits.contains(&true);
    is_empty.then(|| FieldProblem::missing("/instruction", "at least one limit, or an instruction"))
}

/// The first day: at most a year ahead.
pub(super) fn first_day(given: Option<&str>, today: Date) -> Result<Date, FieldProblem> {
    let from = fields::date("/from", given)?;
    let latest = today.saturating_add(Span::new().years(1));
    if from <= latest {
        return Ok(from);
    }
    let fault = FieldProblem::new("/from", Code::OutOfRange, from.to_string());
    Err(fault.allowed(format!("{latest} or earlier, a year ahead")))
}

/// A year from the first day.
fn latest(from: Date) -> Date {
    from.saturating_add(Span::new().months(12))
}

/// The review date: within a year after the first day.
pub(super) fn review(given: Option<&str>, from: Option<Date>) -> Result<Date, FieldProblem> {
    const ALLOWED: &str = "a day after from, at most 12 months later";
    if given.is_none() {
        return Err(FieldProblem {
            code: Code::ReviewDateRequired,
            detail: format!("{}.", Code::ReviewDateRequired.title()),
            ..FieldProblem::missing("/review_date", ALLOWED)
        });
    }
    let review = fields::date("/review_date", given)?;
    match from {
        Some(from) if review <= from || review > latest(from) => {
            let fault = FieldProblem::new("/review_date", Code::OutOfRange, review.to_string());
            Err(fault.allowed(format!("after {from}, not after {}", latest(from))))
        }
        _ => Ok(review),
    }
}

/// The last day: one that is there already, or none before the review.
pub(super) fn last_day(
    given: Option<&str>,
    from: Option<Date>,
    review: Option<Date>,
    today: Date,
) -> Result<Option<Date>, FieldProblem> {
    let Some(until) = fields::optional("/until", given, fields::date)? else {
        return Ok(None);
    };
    let (Some(from), Some(review)) = (from, review) else {
        return Ok(Some(until));
    };
    fields::in_order("/until", from, until)?;
    if (until <= today || until >= review) && until <= latest(from) {
        return Ok(Some(until));
    }
    let allowed = format!(
        "{review} to {}, the review date and 12 months after the first day; or not after {today}, to end it",
        latest(from)
    );
    Err(FieldProblem::new("/until", Code::OutOfRange, until.to_string()).allowed(allowed))
}

/// A whole number from 1 to `most`, which may be absent.
pub(super) fn whole_to(
    pointer: &str,
    given: Option<&Number>,
    most: i32,
) -> Result<Option<i32>, FieldProblem> {
    let Some(given) = given else { return Ok(None) };
    let whole = fields::whole(given).and_then(|value| i32::try_from(value).ok());
    match whole {
        Some(value) if (1..=most).contains(&value) => Ok(Some(value)),
        _ => {
            let fault = FieldProblem::new(pointer, Code::OutOfRange, given.clone());
            Err(fault.allowed(format!("whole number from 1 to {most}")))
        }
    }
}
