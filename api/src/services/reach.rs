//! Whose record a caller reaches inside the club.
//!
//! A token may name athletes or squads by our ids or by the club's own. Here the names become ids,
//! and an athlete outside the caller's reach becomes a 404, as if absent.

use std::collections::BTreeSet;

use super::other_keys;
use crate::auth::tenant::Caller;
use crate::auth::{Reach, Reference};
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::store::athletes::{self, Athlete};
use crate::store::{Conn, Known, StoreError, Tenant, Versioned, Who, memberships, squads};

/// The athletes a caller reaches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reached {
    /// Everyone in the club.
    Everyone,
    /// These, by id.
    Only(Vec<AthleteId>),
}

impl Reached {
    /// Whether an athlete is among them.
    pub fn includes(&self, athlete: AthleteId) -> bool {
        match self {
            Reached::Everyone => true,
            Reached::Only(athletes) => athletes.binary_search(&athlete).is_ok(),
        }
    }

    /// For the store.
    pub fn who(&self) -> Who<'_> {
        match self {
            Reached::Everyone => Who::WholeClub,
            Reached::Only(athletes) => Who::Athletes(athletes),
        }
    }

    fn only(athletes: impl Iterator<Item = AthleteId>) -> Self {
        let athletes: BTreeSet<AthleteId> = athletes.collect();
        Reached::Only(athletes.into_iter().collect())
    }
}

/// Finds out whom the caller reaches. Membership counts by what is known now: who may ask is always
/// judged at present, whatever past state is asked for.
pub fn of(conn: &mut Conn, caller: &Caller) -> Result<Reached, StoreError> {
    let tenant = caller.tenant;
    match caller.principal.reach() {
        Reach::Club => Ok(Reached::Everyone),
        Reach::Athletes(references) => {
            let external = external_ids(references);
            let found = other_keys::named(conn, tenant, &external_texts(&external))?;
            let named = found
                .into_iter()
                .filter(|one| external.contains(&(&one.source, one.external_id.as_str())));
            let named = named.map(|one| one.athlete.content.athlete_id);
            Ok(Reached::only(
                named.chain(known_ids(references).map(AthleteId::from)),
            ))
        }
        Reach::Squads(references) => {
            let squads = squads_of(conn, tenant, references)?;
            let on = caller.asked_on;
            let members = memberships::of_squads(conn, tenant, &squads, on, on, Known::Now)?;
            Ok(Reached::only(
                members.into_iter().map(|member| member.content.athlete_id),
            ))
        }
    }
}

/// Whom a list shows: the athlete asked for, else everyone within reach.
///
/// # Errors
/// 404 for an athlete that is absent or out of reach.
pub fn listed(
    conn: &mut Conn,
    caller: &Caller,
    asked: Option<AthleteId>,
) -> Result<Reached, Problem> {
    match asked {
        None => Ok(of(conn, caller)?),
        Some(athlete_id) => {
            athlete(conn, caller, athlete_id)?;
            Ok(Reached::Only(vec![athlete_id]))
        }
    }
}

/// The squads a caller is limited to; `None` where she is not.
pub fn squads(conn: &mut Conn, caller: &Caller) -> Result<Option<Vec<SquadId>>, StoreError> {
    match caller.principal.reach() {
        Reach::Club => Ok(None),
        Reach::Squads(references) => squads_of(conn, caller.tenant, references).map(Some),
        Reach::Athletes(_) => Ok(Some(Vec::new())),
    }
}

/// The athlete, if she exists and is reached; else a 404.
pub fn athlete(
    conn: &mut Conn,
    caller: &Caller,
    athlete_id: AthleteId,
) -> Result<Versioned<Athlete>, Problem> {
    if !of(conn, caller)?.includes(athlete_id) {
        return Err(Problem::not_found());
    }
    athlete_of_club(conn, caller.tenant, athlete_id)
}

/// The athlete, if she exists in the club; else a 404. For callers who answer for the whole club and are shown nothing of her.
pub fn athlete_of_club(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
) -> Result<Versioned<Athlete>, Problem> {
    let found = athletes::known(conn, tenant, Who::Athletes(&[athlete_id]), Known::Now)?;
    found.into_iter().next().ok_or_else(Problem::not_found)
}

/// Demands that the club knows the athlete, or once did: her records stay when she is taken off the roster. For callers who answer for
/// what is kept.
///
/// # Errors
/// 404.
pub fn athlete_ever(conn: &mut Conn, tenant: Tenant, athlete_id: AthleteId) -> Result<(), Problem> {
    let made = athletes::created_at(conn, tenant, athlete_id)?;
    made.map(|_| ()).ok_or_else(Problem::not_found)
}

/// Demands that a squad exists and is within the caller's limit; else a 404.
pub fn squad(
    conn: &mut Conn,
    caller: &Caller,
    squad_id: SquadId,
) -> Result<squads::Squad, Problem> {
    if squads(conn, caller)?.is_some_and(|squads| !squads.contains(&squad_id)) {
        return Err(Problem::not_found());
    }
    squads::find(conn, caller.tenant, squad_id)?.ok_or_else(Problem::not_found)
}

fn squads_of(
    conn: &mut Conn,
    tenant: Tenant,
    references: &[Reference],
) -> Result<Vec<SquadId>, StoreError> {
    let mut found: Vec<SquadId> = known_ids(references).map(SquadId::from).collect();
    let external = external_ids(references);
    if !external.is_empty() {
        let named = squads::by_external_ids(conn, tenant, &external_texts(&external))?;
        found.extend(named.into_iter().map(|squad| squad.squad_id));
    }
    Ok(found)
}

fn known_ids(references: &[Reference]) -> impl Iterator<Item = uuid::Uuid> {
    references.iter().filter_map(|reference| match reference {
        Reference::Id(id) => Some(*id),
        Reference::External { .. } => None,
    })
}

/// Pairs of source and external id.
fn external_ids(references: &[Reference]) -> Vec<(&str, &str)> {
    let mut pairs = Vec::new();
    for reference in references {
        if let Reference::External {
            source,
            external_id,
        } = reference
        {
            pairs.push((source.as_str(), external_id.as_str()));
        }
    }
    pairs
}

fn external_texts<'a>(pairs: &[(&'a str, &'a str)]) -> Vec<&'a str> {
    pairs.iter().map(|(_, external_id)| *external_id).collect()
}
