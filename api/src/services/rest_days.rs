//! Days declared as rest: a positive entry, not a gap.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::people::{Naming, People};
use super::write::Change;
use super::{flags, reach};
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, RestDayId};
use crate::store::rest_days::{self, RestDay};
use crate::store::{self, Conn, DaySet, Known, Versioned, Who};

/// A day of rest. Exactly one of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "athlete_external_id": "P-07", "date": "2026-09-13", "given_by": "athlete"}))]
pub struct RestDayInput {
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// The day; tomorrow in the athlete's zone at the latest.
    #[schema(value_type = String, format = Date)]
    pub date: Option<String>,
    /// Who said so: athlete, guardian or coach; assumed from the acting role.
    pub given_by: Option<String>,
}

/// A rest day as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "rest_day_id": "0199a1b2-2222-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "date": "2026-09-13",
    "given_by": "athlete", "received_at": "2026-09-13T18:02:11Z", "version": 1}))]
pub struct RestDayAnswer {
    /// Its id.
    pub rest_day_id: RestDayId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The day.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// Who said so.
    #[schema(value_type = String)]
    pub given_by: &'static str,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Versioned<RestDay>> for RestDayAnswer {
    fn from(day: Versioned<RestDay>) -> Self {
        let Versioned { content, version } = day;
        Self {
            rest_day_id: content.rest_day_id,
            athlete_id: content.athlete_id,
            date: content.date,
            given_by: content.given_by.code(),
            received_at: version.received_at,
            version: version.number,
        }
    }
}

/// Stores a rest day, unless the athlete has declared that day already: then the one that is there is
/// answered. Says whether it is new.
pub fn enter(
    change: &mut Change<'_>,
    input: &RestDayInput,
) -> Result<(RestDayAnswer, bool), Problem> {
    let day = checked(change, input)?;
    let (tenant, athlete, date) = (change.tenant(), [day.athlete_id], day.date);
    let who = Who::Athletes(&athlete);
    let known = rest_days::in_dates(change.conn, tenant, who, date, date, Known::Now)?;
    if let Some(known) = known.into_iter().next() {
        return Ok((known.into(), false));
    }
    let id = day.rest_day_id;
    change.store_with(|conn, tenant, moment, author| {
        rest_days::insert(conn, tenant, moment, author, &[day])
    })?;
    judge_again(change, athlete[0], date)?;
    let stored = find(change.conn, change.caller, id)?;
    Ok((stored.into(), true))
}

/// Takes a rest day back.
pub fn remove(change: &mut Change<'_>, current: Versioned<RestDay>) -> Result<(), Problem> {
    let (athlete, date) = (current.content.athlete_id, current.content.date);
    let tombstone = store::Change::tombstone(current);
    change.store_with(|conn, tenant, moment, author| {
        rest_days::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    judge_again(change, athlete, date)
}

/// The undeleted rest day of an id within the caller's reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: RestDayId,
) -> Result<Versioned<RestDay>, Problem> {
    let found = rest_days::current(conn, caller.tenant, id)?;
    let found = found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

fn checked(change: &mut Change<'_>, input: &RestDayInput) -> Result<RestDay, Problem> {
    let naming = Naming {
        athlete_id: input.athlete_id.as_deref(),
        athlete_external_id: input.athlete_external_id.as_deref(),
    };
    let mut faults = Faults::default();
    let subject = People::subject_of(change, naming)?;
    let subject = faults.take(subject);
    let home = subject
        .as_ref()
        .map_or(TimeZone::UTC, |subject| subject.home.clone());
    let today = home.to_datetime(change.at()).date();
    let date = faults.take(date(input.date.as_deref(), today));
    let role = change.caller.principal.role;
    let given_by = faults.take(fields::given_by(input.given_by.as_deref(), role));
    let day = match (subject, date, given_by) {
        (Some(subject), Some(date), Some(given_by)) => Some(RestDay {
            rest_day_id: change.new_id(),
            athlete_id: subject.athlete_id,
            date,
            given_by,
        }),
        _ => None,
    };
    faults.settle(day)
}

/// A day of rest can be declared in the evening before.
fn date(given: Option<&str>, today: Date) -> Result<Date, FieldProblem> {
    let date = fields::date("/date", given)?;
    let tomorrow = today.saturating_add(Span::new().days(1));
    if date <= tomorrow {
        return Ok(date);
    }
    Err(FieldProblem::new("/date", Code::InFuture, date.to_string())
        .detail(format!(
            "A rest day is declared for tomorrow, {tomorrow}, at the latest."
        ))
        .allowed(format!("{tomorrow} or earlier")))
}

fn judge_again(change: &mut Change<'_>, athlete: AthleteId, date: Date) -> Result<(), Problem> {
    let mut touched = DaySet::default();
    touched.add(athlete, date);
    flags::rejudge(change, &touched)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date as on;

    use super::*;

    #[test]
    fn rest_is_declared_for_tomorrow_at_the_latest() {
        let today = on(2026, 9, 13);
        assert_eq!(date(Some("2026-09-14"), today), Ok(on(2026, 9, 14)));
        let code = |given| date(given, today).unwrap_err().code;
        assert_eq!(code(Some("2026-09-15")), Code::InFuture);
        assert_eq!(code(Some("1026-09-13")), Code::OutOfRange);
        assert_eq!(code(Some("2026-9-13")), Code::InvalidDate);
        assert_eq!(code(None), Code::MissingField);
    }
}
