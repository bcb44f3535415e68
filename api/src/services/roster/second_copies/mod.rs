//! Whether two records are one person: found by a roster import, decided by somebody who knows them, undone by deciding otherwise.
//!
//! While they are one person, the second record is gone, its key leads to the first, and what was logged under it belongs to the first.
//! Nothing of it is lost: each record has a next version, and deciding otherwise brings back what was carried over.

mod answer;
mod carry;

use plimsoll_domain::roster::{CopyOf, Plan};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

pub use answer::{SecondCopyEntry, entries};
use carry::{Carried, Way};

use super::answer::SecondCopyAnswer;
use super::apply::Applied;
use super::current::Stored;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, SecondCopyId};
use crate::services::fields::{self, Faults};
use crate::services::write::Change;
use crate::store::athletes::{self, Athlete};
use crate::store::second_copies::{self, SecondCopy};
use crate::store::{self, Conn, CopyDecision, Tenant, Versioned, subject_records};

/// What somebody who knows them decides.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"decision": "same_person"}))]
pub struct SecondCopyInput {
    /// same_person carries what belongs to the second record over to the first and lets its key lead there; two_people keeps both; open
    /// leaves it undecided. Any other decision than same_person undoes that one.
    #[schema(value_type = String)]
    pub decision: Option<String>,
}

impl SecondCopyInput {
    /// What stands, for a change of it.
    pub fn of(copy: &SecondCopy) -> Self {
        Self {
            decision: Some(copy.decision.code().to_owned()),
        }
    }

    fn check(&self) -> Result<CopyDecision, Problem> {
        let codes = || fields::list(CopyDecision::ALL.iter().map(|one| one.code()));
        let (given, mut faults) = (self.decision.as_deref(), Faults::default());
        let decision = fields::coded("/decision", given, CopyDecision::parse, codes);
        let decision = faults.take(decision);
        faults.settle(decision)
    }
}

/// The proposal of an id.
///
/// # Errors
/// 404 without it.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    id: SecondCopyId,
) -> Result<Versioned<SecondCopy>, Problem> {
    second_copies::current(conn, tenant, id)?.ok_or_else(Problem::not_found)
}

/// The proposal of an id, as it is answered.
///
/// # Errors
/// 404 without it.
pub fn entry(
    conn: &mut Conn,
    tenant: Tenant,
    id: SecondCopyId,
) -> Result<SecondCopyEntry, Problem> {
    let found = find(conn, tenant, id)?;
    let mut entries = entries(conn, tenant, vec![found])?;
    entries.pop().ok_or_else(Problem::not_found)
}

/// Stores the proposals of an import that was taken over, and answers them.
///
/// # Errors
/// Those of the database.
pub fn propose(
    change: &mut Change<'_>,
    plan: &Plan,
    applied: &Applied,
    stored: &Stored,
) -> Result<Vec<SecondCopyAnswer>, Problem> {
    let mut answers = Vec::with_capacity(plan.second_copies.len());
    for copy in &plan.second_copies {
        let found = match copy.of {
            CopyOf::Known(at) => stored.athletes.get(at).map(|one| {
                let known = &one.content;
                (known.athlete_id, known.external_id.clone())
            }),
            CopyOf::New(at) => id_and_key(plan, applied, at),
        };
        let new = id_and_key(plan, applied, copy.person);
        if let (Some((athlete_id, Some(external_id))), Some((of_athlete_id, of_external_id))) =
            (new, found)
        {
            answers.push(SecondCopyAnswer {
                second_copy_id: change.new_id(),
                athlete_id,
                external_id,
                of_athlete_id,
                of_external_id,
            });
        }
    }
    let proposals: Vec<SecondCopy> = answers
        .iter()
        .map(|answer| SecondCopy {
            second_copy_id: answer.second_copy_id,
            athlete_id: answer.athlete_id,
            of_athlete_id: answer.of_athlete_id,
            decision: CopyDecision::Open,
            carried: None,
        })
        .collect();
    change.store_with(|conn, tenant, moment, author| {
        second_copies::insert(conn, tenant, moment, author, &proposals)
    })?;
    Ok(answers)
}

fn id_and_key(plan: &Plan, applied: &Applied, at: usize) -> Option<(AthleteId, Option<String>)> {
    let id = (*applied.people.get(at)?)?;
    Some((id, Some(plan.people.get(at)?.key.clone())))
}

/// Decides. The same decision again changes nothing.
///
/// # Errors
/// 409 where the two cannot be taken for one person; 422 with what is wrong in the body.
pub fn decide(
    change: &mut Change<'_>,
    current: Versioned<SecondCopy>,
    input: &SecondCopyInput,
) -> Result<SecondCopyEntry, Problem> {
    let (tenant, id) = (change.tenant(), current.content.second_copy_id);
    let decision = input.check()?;
    let before = current.content;
    if decision != before.decision {
        if before.decision == CopyDecision::SamePerson {
            part(change, &before)?;
        }
        let carried = match decision {
            CopyDecision::SamePerson => Some(unite(change, &before)?),
            CopyDecision::Open | CopyDecision::TwoPeople => None,
        };
        let carried = carried.map(serde_json::to_value).transpose();
        let carried = carried.map_err(|error| Problem::internal(&error))?;
        let next = store::Change {
            replaces: current.version.number,
            content: SecondCopy {
                decision,
                carried,
                ..before
            },
            deleted: false,
        };
        change.store_with(|conn, tenant, moment, author| {
            second_copies::supersede(conn, tenant, moment, author, &[next])
        })?;
    }
    entry(change.conn, tenant, id)
}

/// Makes the second record part of the first.
fn unite(change: &mut Change<'_>, copy: &SecondCopy) -> Result<Carried, Problem> {
    let tenant = change.tenant();
    let second = standing(change.conn, tenant, copy.athlete_id)?;
    let first = standing(change.conn, tenant, copy.of_athlete_id)?;
    if !second_copies::one_with(change.conn, tenant, copy.athlete_id)?.is_empty() {
        return Err(no_longer_two());
    }
    let other = subject_records::standing(change.conn, tenant, copy.athlete_id, &TAKEN_ALONG)?;
    if !other.is_empty() {
        let detail = format!("The second record also holds: {}.", other.join(", "));
        return Err(Problem::new(Code::SecondCopyHasRecords, detail));
    }
    let way = Way {
        from: copy.athlete_id,
        to: copy.of_athlete_id,
    };
    let mut carried = carry::over(change, way)?;
    let mut next = Vec::with_capacity(2);
    if first.content.external_id.is_none() {
        carried.source_before = Some(first.content.source.clone());
        let (external_id, source) = (
            second.content.external_id.clone(),
            second.content.source.clone(),
        );
        next.push(renamed(first, external_id, source));
    }
    // The second one goes first, so that its key is free.
    next.insert(0, store::Change::tombstone(second));
    supersede(change, next)?;
    Ok(carried)
}

/// Makes two records of them again.
fn part(change: &mut Change<'_>, copy: &SecondCopy) -> Result<(), Problem> {
    let tenant = change.tenant();
    let carried = copy.carried.clone().unwrap_or_default();
    let carried: Carried =
        serde_json::from_value(carried).map_err(|error| Problem::internal(&error))?;
    let first = standing(change.conn, tenant, copy.of_athlete_id)?;
    let second = athletes::current(change.conn, tenant, copy.athlete_id)?;
    let second = second.ok_or_else(Problem::not_found)?;
    let mut next = Vec::with_capacity(2);
    if let Some(source) = carried.source_before.clone() {
        next.push(renamed(first, None, source));
    }
    next.push(store::Change {
        replaces: second.version.number,
        content: second.content,
        deleted: false,
    });
    supersede(change, next)?;
    carry::back(
        change,
        Way {
            from: copy.athlete_id,
            to: copy.of_athlete_id,
        },
        &carried,
    )
}

fn renamed(
    athlete: Versioned<Athlete>,
    external_id: Option<String>,
    source: String,
) -> store::Change<Athlete> {
    store::Change {
        replaces: athlete.version.number,
        content: Athlete {
            external_id,
            source,
            ..athlete.content
        },
        deleted: false,
    }
}

/// One after the other: what gives a key up comes before what takes it.
fn supersede(change: &mut Change<'_>, next: Vec<store::Change<Athlete>>) -> Result<(), Problem> {
    for one in next {
        change.store_with(|conn, tenant, moment, author| {
            athletes::supersede(conn, tenant, moment, author, &[one])
        })?;
    }
    Ok(())
}

/// An athlete who is a record of her own.
fn standing(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
) -> Result<Versioned<Athlete>, Problem> {
    let found = athletes::current(conn, tenant, athlete_id)?;
    found
        .filter(|one| !one.version.deleted)
        .ok_or_else(no_longer_two)
}

fn no_longer_two() -> Problem {
    let detail = "One of the two records is one with another already; decide about that one first.";
    Problem::new(Code::SecondCopyJoined, detail)
}

/// Tables whose rows do not stand in the way: they are carried over, follow from what is, or stay where they were written.
const TAKEN_ALONG: [&str; 16] = [
    "session_reports",
    "session_contacts",
    "rest_days",
    "absences",
    "attendance",
    "memberships",
    "guardian_links",
    "athletes",
    "athlete_versions",
    "second_copies",
    "expected_sessions",
    "day_totals",
    "flags",
    "flag_versions",
    "flag_acknowledgements",
    "audit_reads",
];
