//! Which side was hurt and when, for clinicians: what tests of the sides are read against.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::Side;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::people::{Naming, People};
use super::reach;
use super::test_results::{past_date, side};
use super::write::Change;
use crate::auth::tenant::Caller;
use crate::error::{FieldProblem, Problem};
use crate::ids::{AthleteId, InjuryId};
use crate::store::injuries::{self, Injury};
use crate::store::{self, Conn, Known, Versioned, Who};

/// An injury, as far as tests need it: no diagnosis. Exactly one of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "athlete_external_id": "P-33", "side": "left", "injured_on": "2026-02-21", "surgery_on": "2026-03-06"}))]
pub struct InjuryInput {
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// left, right or both.
    #[schema(value_type = String)]
    pub side: Option<String>,
    /// When it happened, not after today.
    #[schema(value_type = String, format = Date)]
    pub injured_on: Option<String>,
    /// When it was operated on, if it was.
    #[schema(format = Date)]
    pub surgery_on: Option<String>,
}

/// An injury as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "injury_id": "0199a1b2-7777-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "side": "left", "injured_on": "2026-02-21",
    "surgery_on": "2026-03-06", "received_at": "2026-03-09T09:12:00Z", "version": 1}))]
pub struct InjuryAnswer {
    /// Its id.
    pub injury_id: InjuryId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// left, right or both.
    #[schema(value_type = String)]
    pub side: &'static str,
    /// When it happened.
    #[schema(value_type = String, format = Date)]
    pub injured_on: Date,
    /// When it was operated on.
    #[schema(value_type = Option<String>, format = Date)]
    pub surgery_on: Option<Date>,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Versioned<Injury>> for InjuryAnswer {
    fn from(stored: Versioned<Injury>) -> Self {
        let Versioned { content, version } = stored;
        Self {
            injury_id: content.injury_id,
            athlete_id: content.athlete_id,
            side: content.side.code(),
            injured_on: content.injured_on,
            surgery_on: content.surgery_on,
            received_at: version.received_at,
            version: version.number,
        }
    }
}

/// Stores an injury, unless the athlete has the same one already: then the one that is there is
/// answered. Says whether it is new.
pub fn enter(
    change: &mut Change<'_>,
    input: &InjuryInput,
) -> Result<(InjuryAnswer, bool), Problem> {
    let injury = checked(change, input)?;
    let (tenant, athlete) = (change.tenant(), [injury.athlete_id]);
    let who = Who::Athletes(&athlete);
    let known = injuries::until(change.conn, tenant, who, injury.injured_on, Known::Now)?;
    let said = |one: &Injury| (one.side, one.injured_on, one.surgery_on);
    let same = known
        .into_iter()
        .find(|one| said(&one.content) == said(&injury));
    if let Some(same) = same {
        return Ok((same.into(), false));
    }
    let id = injury.injury_id;
    change.store_with(|conn, tenant, moment, author| {
        injuries::insert(conn, tenant, moment, author, &[injury])
    })?;
    let stored = find(change.conn, change.caller, id)?;
    Ok((stored.into(), true))
}

/// Takes an injury back.
pub fn remove(change: &mut Change<'_>, current: Versioned<Injury>) -> Result<(), Problem> {
    let tombstone = store::Change::tombstone(current);
    Ok(change.store_with(|conn, tenant, moment, author| {
        injuries::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

/// The undeleted injury of an id within the caller's reach.
pub fn find(conn: &mut Conn, caller: &Caller, id: InjuryId) -> Result<Versioned<Injury>, Problem> {
    let found = injuries::current(conn, caller.tenant, id)?;
    let found = found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

fn checked(change: &mut Change<'_>, input: &InjuryInput) -> Result<Injury, Problem> {
    let naming = Naming {
        athlete_id: input.athlete_id.as_deref(),
        athlete_external_id: input.athlete_external_id.as_deref(),
    };
    let mut faults = Faults::default();
    let subject = faults.take(People::subject_of(change, naming)?);
    let home = subject
        .as_ref()
        .map_or(TimeZone::UTC, |subject| subject.home.clone());
    let today = home.to_datetime(change.at()).date();
    let side: Option<Side> = faults.take(side(input.side.as_deref()));
    let dates = dates(input, today, &mut faults);
    let injury = subject
        .zip(side)
        .zip(dates)
        .map(|((subject, side), (injured_on, surgery_on))| Injury {
            injury_id: change.new_id(),
            athlete_id: subject.athlete_id,
            side,
            injured_on,
            surgery_on,
        });
    faults.settle(injury)
}

/// When it happened and when it was operated on.
fn dates(input: &InjuryInput, today: Date, faults: &mut Faults) -> Option<(Date, Option<Date>)> {
    let given = input.injured_on.as_deref();
    let injured_on = faults.take(past_date("/injured_on", given, today));
    let past = |pointer: &str, given: Option<&str>| past_date(pointer, given, today);
    let surgery_on = input.surgery_on.as_deref();
    let surgery_on = faults.take(fields::optional("/surgery_on", surgery_on, past));
    let (injured_on, surgery_on) = injured_on.zip(surgery_on)?;
    if let Some(surgery_on) = surgery_on {
        let in_order: Result<(), FieldProblem> =
            fields::in_order("/surgery_on", injured_on, surgery_on);
        faults.take(in_order)?;
    }
    Some((injured_on, surgery_on))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn dated(injured_on: &str, surgery_on: Option<&str>) -> Result<(), Vec<String>> {
        let input = InjuryInput {
            injured_on: Some(injured_on.to_owned()),
            surgery_on: surgery_on.map(str::to_owned),
            ..InjuryInput::default()
        };
        let mut faults = Faults::default();
        dates(&input, date(2026, 11, 20), &mut faults);
        let faults = faults.into_vec().into_iter();
        let faults: Vec<String> = faults
            .map(|fault| format!("{} {}", fault.pointer, fault.code.code()))
            .collect();
        match faults.is_empty() {
            true => Ok(()),
            false => Err(faults),
        }
    }

    #[test]
    fn surgery_follows_the_injury_and_neither_lies_ahead() {
        let refused = |fault: &str| Err(vec![fault.to_owned()]);
        assert_eq!(dated("2026-11-20", None), Ok(()));
        assert_eq!(dated("2026-02-21", Some("2026-02-21")), Ok(()));
        assert_eq!(dated("2026-11-21", None), refused("/injured_on in_future"));
        assert_eq!(
            dated("2026-03-06", Some("2026-03-05")),
            refused("/surgery_on range_reversed")
        );
        assert_eq!(
            dated("2026-03-06", Some("soon")),
            refused("/surgery_on invalid_date")
        );
    }
}
