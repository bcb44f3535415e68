//! Proposals as they are answered: two records side by side, with what tells whether they are one person.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use super::carry::Carried;
use crate::error::Problem;
use crate::ids::{AthleteId, SecondCopyId};
use crate::store::athletes::{self, Athlete};
use crate::store::memberships;
use crate::store::second_copies::SecondCopy;
use crate::store::{Conn, Known, Tenant, Versioned};

/// A new athlete, and whom she may be.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "second_copy_id": "0199a1b2-9999-7e4f-8a5b-6c7d8e9f0a1b", "decision": "same_person",
    "athlete": {"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1c", "external_id": "P-31", "source": "club-app",
        "display_name": "Runa Holm", "birth_month": "2011-03", "squads": []},
    "of_athlete": {"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "external_id": "P-07", "source": "club-app",
        "display_name": "Runa Falk", "birth_month": "2011-03", "squads": ["U16 girls"]},
    "carried": {"sessions": 3, "rest_days": 0, "absences": 0, "attendance": 1, "memberships": 1, "guardians": 1, "withdrawn": 0},
    "decided_at": "2026-09-14T08:05:00Z", "version": 2}))]
pub struct SecondCopyEntry {
    /// Its id.
    pub second_copy_id: SecondCopyId,
    /// open, same_person or two_people.
    #[schema(value_type = String)]
    pub decision: &'static str,
    /// The new athlete.
    pub athlete: CopySide,
    /// Whom she may be.
    pub of_athlete: CopySide,
    /// What was carried over from the one to the other, while they are one person.
    pub carried: Option<CarriedCounts>,
    /// When that was decided; while it is open, when it was found or opened again.
    #[schema(value_type = String, format = DateTime)]
    pub decided_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// One of the two records.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CopySide {
    /// Our id.
    pub athlete_id: AthleteId,
    /// The roster's own key.
    pub external_id: Option<String>,
    /// The client that entered her.
    pub source: String,
    /// The name shown.
    pub display_name: String,
    /// Year and month of birth.
    #[schema(value_type = Option<String>, pattern = "^\\d{4}-\\d{2}$")]
    pub birth_month: Option<String>,
    /// The squads of her memberships that have not ended.
    pub squads: Vec<String>,
}

/// How much was carried over.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CarriedCounts {
    /// Session reports.
    pub sessions: usize,
    /// Days of rest.
    pub rest_days: usize,
    /// Absences.
    pub absences: usize,
    /// Entries of attendance lists.
    pub attendance: usize,
    /// Times in squads.
    pub memberships: usize,
    /// Guardians.
    pub guardians: usize,
    /// Entries that the other had already, so that they were withdrawn.
    pub withdrawn: usize,
}

impl From<&Carried> for CarriedCounts {
    fn from(carried: &Carried) -> Self {
        let (moved, withdrawn) = (&carried.moved, &carried.withdrawn);
        Self {
            sessions: moved.sessions.len(),
            rest_days: moved.rest_days.len(),
            absences: moved.absences.len(),
            attendance: moved.attendance.len(),
            memberships: moved.memberships.len(),
            guardians: moved.guardian_links.len(),
            withdrawn: withdrawn.rest_days.len()
                + withdrawn.attendance.len()
                + withdrawn.memberships.len()
                + withdrawn.guardian_links.len(),
        }
    }
}

/// Proposals with both records of each: two queries for any number.
///
/// # Errors
/// Those of the database.
pub fn entries(
    conn: &mut Conn,
    tenant: Tenant,
    copies: Vec<Versioned<SecondCopy>>,
) -> Result<Vec<SecondCopyEntry>, Problem> {
    let both = |one: &Versioned<SecondCopy>| [one.content.athlete_id, one.content.of_athlete_id];
    let ids: BTreeSet<AthleteId> = copies.iter().flat_map(both).collect();
    let ids: Vec<AthleteId> = ids.into_iter().collect();
    let mut squads: BTreeMap<AthleteId, BTreeSet<String>> = BTreeMap::new();
    for (membership, squad) in memberships::of_athletes(conn, tenant, &ids, Known::Now)? {
        if membership.content.to_date.is_none() {
            let of_athlete = squads.entry(membership.content.athlete_id).or_default();
            of_athlete.insert(squad.name);
        }
    }
    let found = athletes::current_many(conn, tenant, &ids)?;
    let sides: BTreeMap<AthleteId, CopySide> = found
        .into_iter()
        .map(|one| {
            let squads = squads.remove(&one.content.athlete_id).unwrap_or_default();
            (one.content.athlete_id, side(one.content, squads))
        })
        .collect();
    copies.into_iter().map(|copy| entry(copy, &sides)).collect()
}

fn entry(
    copy: Versioned<SecondCopy>,
    sides: &BTreeMap<AthleteId, CopySide>,
) -> Result<SecondCopyEntry, Problem> {
    let Versioned { content, version } = copy;
    let side = |athlete| {
        let found = sides.get(&athlete).cloned();
        found.ok_or_else(|| Problem::internal(&"a second copy names nobody"))
    };
    let carried = content
        .carried
        .map(serde_json::from_value::<Carried>)
        .transpose();
    let carried = carried.map_err(|error| Problem::internal(&error))?;
    Ok(SecondCopyEntry {
        second_copy_id: content.second_copy_id,
        decision: content.decision.code(),
        athlete: side(content.athlete_id)?,
        of_athlete: side(content.of_athlete_id)?,
        carried: carried.as_ref().map(CarriedCounts::from),
        decided_at: version.received_at,
        version: version.number,
    })
}

fn side(athlete: Athlete, squads: BTreeSet<String>) -> CopySide {
    let month = athlete
        .birth_date
        .map(|date| format!("{:04}-{:02}", date.year(), date.month()));
    CopySide {
        athlete_id: athlete.athlete_id,
        external_id: athlete.external_id,
        source: athlete.source,
        display_name: athlete.display_name,
        birth_month: month,
        squads: squads.into_iter().collect(),
    }
}
