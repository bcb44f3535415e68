//! Dates, weeks and instants in a query string.

use jiff::civil::Date;
use jiff::{Span, Timestamp};
use plimsoll_domain::{IsoWeek, Rpe, Setting};
use serde_json::Number;

use super::query::bad;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, EventId, SquadId};
use crate::services::flags::shifted;
use crate::services::{fields, local_time};

/// Longest range of days that one call answers: three years.
pub const MOST_DAYS: usize = 1_100;
/// Most weeks of an athlete that one call answers.
pub const MOST_WEEKS: i64 = 160;

/// Reads `from` and `to`; where one is missing it is taken from `default`.
pub fn dates(
    from: Option<&str>,
    to: Option<&str>,
    default: impl FnOnce(Option<Date>) -> (Date, Date),
) -> Result<(Date, Date), Problem> {
    let read = |name: &str, text: Option<&str>| text.map(|text| date(name, text)).transpose();
    let (from, to) = (read("?from", from)?, read("?to", to)?);
    let (usual_from, usual_to) = default(to);
    let (from, to) = in_order(from.unwrap_or(usual_from), to.unwrap_or(usual_to))?;
    if length(from, to) > MOST_DAYS {
        return Err(bad(FieldProblem::new(
            "?from",
            Code::RangeTooLong,
            from.to_string(),
        )
        .allowed(format!("at most {MOST_DAYS} days"))));
    }
    Ok((from, to))
}

/// Reads `from` and `to`, the last so many weeks unless said otherwise; none lies after today.
pub fn past_dates(
    (from, to): (Option<&str>, Option<&str>),
    today: Date,
    weeks: i64,
) -> Result<(Date, Date), Problem> {
    let (from, to) = dates(from, to, |to| {
        let to = to.unwrap_or(today);
        (to.saturating_sub(Span::new().days(7 * weeks - 1)), to)
    })?;
    if to > today {
        let fault = FieldProblem::new("?to", Code::InFuture, to.to_string());
        return Err(Problem::field(fault.allowed(format!("{today} or earlier"))));
    }
    Ok((from, to))
}

/// Reads `from` and `to` as ISO weeks, the last eight that are over unless said otherwise; none lies ahead.
pub fn past_weeks(
    (from, to): (Option<&str>, Option<&str>),
    today: Date,
) -> Result<(IsoWeek, IsoWeek), Problem> {
    let current = IsoWeek::of(today).map_err(|error| Problem::internal(&error))?;
    let read = |name: &str, text: Option<&str>| text.map(|text| week(name, text)).transpose();
    let to = read("?to", to)?.unwrap_or_else(|| shifted(current, -1));
    let from = read("?from", from)?.unwrap_or_else(|| shifted(to, -7));
    if to > current {
        let fault = FieldProblem::new("?to", Code::InFuture, to.to_string());
        return Err(Problem::field(
            fault.allowed(format!("{current} or earlier")),
        ));
    }
    if to < from {
        let fault = FieldProblem::new("?to", Code::RangeReversed, to.to_string());
        return Err(bad(fault.allowed(format!("{from} or later"))));
    }
    if to.monday().duration_since(from.monday()).as_hours() / (24 * 7) >= MOST_WEEKS {
        let fault = FieldProblem::new("?from", Code::RangeTooLong, from.to_string());
        return Err(bad(fault.allowed(format!("at most {MOST_WEEKS} weeks"))));
    }
    Ok((from, to))
}

/// How many dates a range holds, both ends included; none where it is reversed.
pub fn length(from: Date, to: Date) -> usize {
    usize::try_from(to.duration_since(from).as_hours() / 24 + 1).unwrap_or(0)
}

/// Reads `from` and `to` of a list that is paged, so that the range may be of any length.
pub fn open_dates(from: Option<&str>, to: Option<&str>) -> Result<(Date, Date), Problem> {
    let read = |name: &str, text: Option<&str>| text.map(|text| date(name, text)).transpose();
    let (from, to) = (read("?from", from)?, read("?to", to)?);
    in_order(
        from.unwrap_or(local_time::EARLIEST),
        to.unwrap_or(local_time::LATEST),
    )
}

fn in_order(from: Date, to: Date) -> Result<(Date, Date), Problem> {
    fields::in_order("?to", from, to).map_err(bad)?;
    Ok((from, to))
}

/// Reads a date parameter.
pub fn date(name: &str, text: &str) -> Result<Date, Problem> {
    local_time::date(name, text).map_err(bad)
}

/// Reads the parameter `athlete`.
pub fn athlete(text: &str) -> Result<AthleteId, Problem> {
    id("?athlete", text)
}

/// Reads the parameter `event`.
pub fn event(text: &str) -> Result<EventId, Problem> {
    id("?event", text)
}

/// Reads the parameter `squad`.
pub fn squad(text: &str) -> Result<SquadId, Problem> {
    id("?squad", text)
}

fn id<I: std::str::FromStr>(name: &str, text: &str) -> Result<I, Problem> {
    text.parse().map_err(|_| {
        let given = super::json::shorten_text(text);
        bad(FieldProblem::new(name, Code::InvalidId, given).allowed("a UUID"))
    })
}

/// Reads a week parameter or path segment.
pub fn week(name: &str, text: &str) -> Result<IsoWeek, Problem> {
    fields::week(name, text).map_err(bad)
}

/// Reads `as_of`: what had been received by then.
pub fn as_of(text: Option<&str>) -> Result<Option<Timestamp>, Problem> {
    let read = |text| local_time::instant("?as_of", text).map_err(bad);
    text.map(read).transpose()
}

/// Reads `rpe`: a session RPE.
pub fn rpe(text: &str) -> Result<Rpe, Problem> {
    let number: Result<Number, _> = text.parse();
    let number = number.map_err(|_| {
        let given = super::json::shorten_text(text);
        let fault = FieldProblem::new("?rpe", Code::RpeOutOfRange, given);
        bad(fault.allowed("0 to 10 in steps of 0.5"))
    })?;
    fields::rpe("?rpe", Some(&number)).map_err(bad)
}

/// Reads `explain`.
pub fn explain(text: Option<&str>) -> Result<bool, Problem> {
    match text {
        None | Some("false") => Ok(false),
        Some("true") => Ok(true),
        Some(other) => Err(bad(FieldProblem::new(
            "?explain",
            Code::UnknownValue,
            super::json::shorten_text(other),
        )
        .allowed("true or false"))),
    }
}

/// Reads `setting`: one, or several with commas.
pub fn settings(text: Option<&str>) -> Result<Option<Vec<Setting>>, Problem> {
    let Some(text) = text else { return Ok(None) };
    let read = |code: &str| {
        Setting::parse(code).ok_or_else(|| {
            let known: Vec<&str> = Setting::ALL.iter().map(|setting| setting.code()).collect();
            bad(FieldProblem::new(
                "?setting",
                Code::UnknownValue,
                super::json::shorten_text(code),
            )
            .allowed(known.join(", ")))
        })
    };
    text.split(',')
        .map(read)
        .collect::<Result<Vec<_>, _>>()
        .map(Some)
}
