//! Holds: while one stands, nothing of the athlete is erased by itself. Codes alone, so that nothing is written about a child.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::retention::Hold;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, HoldId};
use crate::services::fields::{self, Faults};
use crate::services::write::Change;
use crate::services::{reach, zones};
use crate::store::retention::holds::{self, RetentionHold};
use crate::store::{self, Conn, HoldEnd, HoldReason, Tenant, Versioned, Who};

/// A hold as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reason": "insurance", "until": "2027-12-31"}))]
pub struct HoldInput {
    /// What for: legal_claim, authority, insurance, complaint or family_request.
    #[schema(value_type = String)]
    pub reason: Option<String>,
    /// Its last day, today or later in the club's zone; until it is lifted where it is left out.
    #[schema(value_type = String, format = Date)]
    pub until: Option<String>,
}

/// Why a hold is lifted.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reason": "settled"}))]
pub struct LiftInput {
    /// settled, family_request or entered_by_mistake.
    #[schema(value_type = String)]
    pub reason: Option<String>,
}

/// A hold as it is answered.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "hold_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "reason": "insurance", "until": "2027-12-31", "stands": true, "received_at": "2026-11-09T18:02:11Z", "version": 1}))]
pub struct HoldAnswer {
    /// Its id.
    pub hold_id: HoldId,
    /// Of whom nothing is erased.
    pub athlete_id: AthleteId,
    /// What for.
    #[schema(value_type = String)]
    pub reason: &'static str,
    /// Its last day; null until it is lifted.
    #[schema(value_type = Option<String>, format = Date)]
    pub until: Option<Date>,
    /// Whether it stands today; false once its last day has passed.
    pub stands: bool,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1; also the ETag.
    pub version: i32,
}

impl HoldAnswer {
    /// The answer on a date in the club's zone.
    pub fn new(stored: Versioned<RetentionHold>, today: Date) -> Self {
        let Versioned { content, version } = stored;
        Self {
            hold_id: content.hold_id,
            athlete_id: content.athlete_id,
            reason: content.reason.code(),
            until: content.until_date,
            stands: rule(&content).is_on(today),
            received_at: version.received_at,
            version: version.number,
        }
    }
}

/// A hold as the rules know it.
pub fn rule(hold: &RetentionHold) -> Hold {
    Hold {
        until: hold.until_date,
    }
}

/// The holds that stand on a date, by athlete.
pub fn standing(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    on: Date,
) -> Result<BTreeMap<AthleteId, Vec<RetentionHold>>, Problem> {
    let mut standing: BTreeMap<AthleteId, Vec<RetentionHold>> = BTreeMap::new();
    for stored in holds::of(conn, tenant, Who::Athletes(athletes))? {
        let hold = stored.content;
        if rule(&hold).is_on(on) {
            standing.entry(hold.athlete_id).or_default().push(hold);
        }
    }
    Ok(standing)
}

/// Holds an athlete of the club.
///
/// # Errors
/// 404; 422 with every fault.
pub fn enter(
    change: &mut Change<'_>,
    athlete_id: AthleteId,
    input: impl FnOnce() -> Result<HoldInput, Problem>,
) -> Result<HoldAnswer, Problem> {
    let tenant = change.tenant();
    reach::athlete_of_club(change.conn, tenant, athlete_id)?;
    let today = zones::club_date(change.conn, tenant, change.now())?;
    let (reason, until_date) = input()?.check(today)?;
    let hold = RetentionHold {
        hold_id: change.new_id(),
        athlete_id,
        reason,
        until_date,
        lifted: None,
    };
    let id = hold.hold_id;
    change.store_with(|conn, tenant, moment, author| {
        holds::insert(conn, tenant, moment, author, &[hold])
    })?;
    let stored = find(change.conn, tenant, (athlete_id, id))?;
    Ok(HoldAnswer::new(stored, today))
}

/// Lifts a hold; who did and why stays on record.
///
/// # Errors
/// 422 without a reason.
pub fn lift(
    change: &mut Change<'_>,
    current: &Versioned<RetentionHold>,
    input: &LiftInput,
) -> Result<(), Problem> {
    let codes = || fields::list(HoldEnd::ALL.iter().map(|end| end.code()));
    let reason = fields::coded("/reason", input.reason.as_deref(), HoldEnd::parse, codes);
    let tombstone = store::Change {
        replaces: current.version.number,
        content: RetentionHold {
            lifted: Some(reason.map_err(Problem::field)?),
            ..current.content.clone()
        },
        deleted: true,
    };
    change.store_with(|conn, tenant, moment, author| {
        holds::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    Ok(())
}

/// The hold of an id, of this athlete, that was not lifted.
///
/// # Errors
/// 404.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    (athlete_id, id): (AthleteId, HoldId),
) -> Result<Versioned<RetentionHold>, Problem> {
    let found = holds::current(conn, tenant, id)?;
    let found = found.filter(|one| one.content.athlete_id == athlete_id && !one.version.deleted);
    found.ok_or_else(Problem::not_found)
}

impl HoldInput {
    fn check(&self, today: Date) -> Result<(HoldReason, Option<Date>), Problem> {
        let mut faults = Faults::default();
        let codes = || fields::list(HoldReason::ALL.iter().map(|reason| reason.code()));
        let reason = fields::coded("/reason", self.reason.as_deref(), HoldReason::parse, codes);
        let reason = faults.take(reason);
        let until = |pointer: &str, given: Option<&str>| {
            let date = fields::date(pointer, given)?;
            let past = || FieldProblem::new(pointer, Code::OutOfRange, date.to_string());
            let is_ahead = today <= date;
            is_ahead
                .then_some(date)
                .ok_or_else(|| past().allowed(format!("{today} or later")))
        };
        let until = faults.take(fields::optional("/until", self.until.as_deref(), until));
        faults.settle(reason.zip(until))
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_hold_says_what_for_and_ends_today_at_the_earliest() {
        let check = |reason: Option<&str>, until: Option<&str>| {
            let input = HoldInput {
                reason: reason.map(str::to_owned),
                until: until.map(str::to_owned),
            };
            input.check(date(2026, 11, 9))
        };
        let taken = |reason, until| check(Some(reason), until).ok();
        let today = (HoldReason::Insurance, Some(date(2026, 11, 9)));
        assert_eq!(taken("insurance", Some("2026-11-09")), Some(today));
        assert_eq!(
            taken("authority", None),
            Some((HoldReason::Authority, None))
        );
        let faults = check(Some("her knee"), Some("2026-11-08"))
            .unwrap_err()
            .errors;
        let faults: Vec<_> = faults
            .iter()
            .map(|fault| (&*fault.pointer, fault.code))
            .collect();
        let expected = [
            ("/reason", Code::UnknownValue),
            ("/until", Code::OutOfRange),
        ];
        assert_eq!(faults, expected);
        assert_eq!(
            check(None, None).unwrap_err().errors[0].code,
            Code::MissingField
        );
    }
}
