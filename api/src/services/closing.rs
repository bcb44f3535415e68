//! When a club's week is closed: the setting as it is sent and stored.

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::closing_time::ClosingTime;
use super::fields::Faults;
use super::write::Change;
use super::zones;
use crate::error::{Code, FieldProblem, Problem};
use crate::store::{Conn, Tenant, weeks};
use crate::web::json::shorten_text;

const WEEKDAYS: [&str; 7] = [
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
];

/// When the week is closed, as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"weekday": "monday", "time": "07:00"}))]
pub struct ClosingInput {
    /// The day after the week's Sunday: monday to sunday.
    #[schema(value_type = String)]
    pub weekday: Option<String>,
    /// The time of day in the club's zone, HH:MM.
    #[schema(value_type = String)]
    pub time: Option<String>,
}

/// When the week is closed.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "weekday": "monday", "time": "07:00", "time_zone": "Europe/Copenhagen", "version": 0}))]
pub struct ClosingAnswer {
    /// The day after the week's Sunday.
    #[schema(value_type = String)]
    pub weekday: &'static str,
    /// The time of day.
    pub time: String,
    /// The club's zone, which it is meant in.
    pub time_zone: String,
    /// 0 until it is set, then 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// The setting of a club: what it chose, else Monday at 07:00.
pub fn stored(conn: &mut Conn, tenant: Tenant) -> Result<weeks::ClosingTime, Problem> {
    let usual = weeks::ClosingTime {
        weekday: 1,
        minute: 7 * 60,
        version: 0,
    };
    Ok(weeks::closing_time(conn, tenant)?.unwrap_or(usual))
}

/// The club's zone, and when in it weeks are closed.
pub fn of_club(conn: &mut Conn, tenant: Tenant) -> Result<(TimeZone, ClosingTime), Problem> {
    let stored = stored(conn, tenant)?;
    let time = ClosingTime::new(stored.weekday, stored.minute);
    let time = time.ok_or_else(|| Problem::internal(&"a stored closing time is out of range"))?;
    Ok((zones::of_club(conn, tenant)?, time))
}

/// The answer for a stored setting.
pub fn answer(
    conn: &mut Conn,
    tenant: Tenant,
    stored: weeks::ClosingTime,
) -> Result<ClosingAnswer, Problem> {
    let zone = zones::of_club(conn, tenant)?;
    Ok(ClosingAnswer {
        weekday: weekday_name(stored.weekday)?,
        time: time_text(stored.minute),
        time_zone: zone.iana_name().unwrap_or("UTC").to_owned(),
        version: stored.version,
    })
}

/// Sets when the week is closed; the same again changes nothing.
///
/// # Errors
/// 422 with every fault.
pub fn set(change: &mut Change<'_>, input: &ClosingInput) -> Result<ClosingAnswer, Problem> {
    let tenant = change.tenant();
    let before = stored(change.conn, tenant)?;
    let mut faults = Faults::default();
    let weekday = faults.take(weekday("/weekday", input.weekday.as_deref()));
    let minute = faults.take(minute("/time", input.time.as_deref()));
    let (weekday, minute) = faults.settle(weekday.zip(minute))?;
    let mut after = weeks::ClosingTime {
        weekday,
        minute,
        ..before
    };
    if after != before {
        after.version += 1;
        weeks::set_closing_time(change.conn, tenant, after)?;
    }
    answer(change.conn, tenant, after)
}

/// The name of a stored weekday, 1 for Monday.
pub fn weekday_name(stored: i32) -> Result<&'static str, Problem> {
    let at = usize::try_from(stored - 1).ok();
    let name = at.and_then(|at| WEEKDAYS.get(at)).copied();
    name.ok_or_else(|| Problem::internal(&"a stored weekday is out of range"))
}

/// A minute of the day as a time of day.
pub fn time_text(minute: i32) -> String {
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

/// A weekday that must be there: 1 for Monday.
pub fn weekday(pointer: &str, given: Option<&str>) -> Result<i32, FieldProblem> {
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, WEEKDAYS.join(", ")))?;
    let found = (1..).zip(WEEKDAYS).find(|(_, name)| *name == given);
    found.map(|(number, _)| number).ok_or_else(|| {
        FieldProblem::new(pointer, Code::UnknownValue, shorten_text(given))
            .allowed(WEEKDAYS.join(", "))
    })
}

/// The minute of the day of a time that must be there.
pub fn minute(pointer: &str, given: Option<&str>) -> Result<i32, FieldProblem> {
    const ALLOWED: &str = "HH:MM, 00:00 to 23:59";
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, ALLOWED))?;
    let parts = given
        .split_once(':')
        .filter(|(hour, minute)| hour.len() == 2 && minute.len() == 2);
    let number = |text: &str, below: i32| -> Option<i32> {
        let digits = text.bytes().all(|octet| octet.is_ascii_digit());
        text.parse().ok().filter(|number| digits && *number < below)
    };
    let minute =
        parts.and_then(|(hour, minute)| Some(number(hour, 24)? * 60 + number(minute, 60)?));
    minute.ok_or_else(|| {
        FieldProblem::new(pointer, Code::InvalidTime, shorten_text(given)).allowed(ALLOWED)
    })
}
