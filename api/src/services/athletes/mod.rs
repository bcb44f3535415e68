//! Athletes: what the roster says of them, stored as versions.

pub mod answer;
pub mod input;

pub use answer::AthleteAnswer;
pub use input::{AthleteInput, NewAthlete};

use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, SquadId};
use crate::services::fields::{self, Faults};
use crate::services::write::Change;
use crate::services::{flags, other_keys, schedule, text, zones};
use crate::store::athletes::{self, Athlete};
use crate::store::memberships::{self, Membership};
use crate::store::{self, Conn, DaySet, MembershipRole, Versioned, squads};
use crate::web::json::shorten_text;

/// Most squads a new athlete joins in one call.
const MOST_SQUADS: u8 = 20;

/// Stores a new athlete with her first memberships.
pub fn create(
    change: &mut Change<'_>,
    athlete_id: AthleteId,
    input: &AthleteInput,
    squads: &[String],
) -> Result<AthleteAnswer, Problem> {
    let mut faults = Faults::default();
    let source = change.source().to_owned();
    let athlete = checked(change, athlete_id, &source, input, &mut faults)?;
    let squads = joined(change, squads, &mut faults)?;
    let athlete = faults.settle(athlete)?;
    let memberships: Vec<Membership> = squads
        .into_iter()
        .map(|squad_id| Membership {
            membership_id: change.new_id(),
            squad_id,
            athlete_id,
            role: MembershipRole::Member,
            from_date: athlete.joined_on,
            to_date: None,
            is_primary: false,
        })
        .collect();
    change.store_with(|conn, tenant, moment, author| {
        athletes::insert(conn, tenant, moment, author, &[athlete])?;
        memberships::insert(conn, tenant, moment, author, &memberships)
    })?;
    for membership in &memberships {
        schedule::membership_changed(change, None, Some(membership))?;
    }
    stored(change, athlete_id)
}

/// Gives an athlete other content; the same content changes nothing. Her source stays the client
/// that made her, so that tokens which name her by it keep their meaning.
pub fn replace(
    change: &mut Change<'_>,
    current: &Versioned<Athlete>,
    input: &AthleteInput,
) -> Result<AthleteAnswer, Problem> {
    let before = &current.content;
    let mut faults = Faults::default();
    let athlete = checked(
        change,
        before.athlete_id,
        &before.source,
        input,
        &mut faults,
    )?;
    let athlete = faults.settle(athlete)?;
    if athlete == *before {
        return stored(change, before.athlete_id);
    }
    let joined_on = athlete.joined_on;
    let next = store::Change {
        replaces: current.version.number,
        content: athlete,
        deleted: false,
    };
    change.store_with(|conn, tenant, moment, author| {
        athletes::supersede(conn, tenant, moment, author, &[next])
    })?;
    if joined_on != before.joined_on {
        let mut touched = DaySet::default();
        touched.add(before.athlete_id, before.joined_on);
        touched.add(before.athlete_id, joined_on);
        flags::rejudge(change, &touched)?;
    }
    stored(change, before.athlete_id)
}

/// The current, undeleted athlete of an id, where there is one.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    athlete_id: AthleteId,
) -> Result<Option<Versioned<Athlete>>, Problem> {
    let found = athletes::current(conn, caller.tenant, athlete_id)?;
    Ok(found.filter(|athlete| !athlete.version.deleted))
}

fn stored(change: &mut Change<'_>, athlete_id: AthleteId) -> Result<AthleteAnswer, Problem> {
    let athlete = find(change.conn, change.caller, athlete_id)?.ok_or_else(Problem::not_found)?;
    answer::answer(change.conn, change.caller, athlete)
}

fn checked(
    change: &mut Change<'_>,
    athlete_id: AthleteId,
    source: &str,
    input: &AthleteInput,
    faults: &mut Faults,
) -> Result<Option<Athlete>, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let athlete = input.check(athlete_id, source, today, faults);
    faults.extend(taken(change, athlete_id, input.external_id.as_deref())?);
    Ok(athlete)
}

/// Whether another athlete has the external id.
fn taken(
    change: &mut Change<'_>,
    athlete_id: AthleteId,
    external_id: Option<&str>,
) -> Result<Option<FieldProblem>, Problem> {
    let possible = |id: &&str| text::line("/external_id", id, fields::LINE).is_ok();
    let Some(external_id) = external_id.filter(possible) else {
        return Ok(None);
    };
    let tenant = change.tenant();
    let holders = other_keys::named(change.conn, tenant, &[external_id])?;
    let other = holders
        .iter()
        .any(|holder| holder.athlete.content.athlete_id != athlete_id);
    Ok(other.then(|| FieldProblem::new("/external_id", Code::NotUnique, external_id)))
}

/// The squads that a new athlete joins, each once.
fn joined(
    change: &mut Change<'_>,
    given: &[String],
    faults: &mut Faults,
) -> Result<Vec<SquadId>, Problem> {
    if given.len() > usize::from(MOST_SQUADS) {
        let fault = FieldProblem::new("/squads", Code::OutOfRange, given.len());
        faults.extend([fault.allowed(format!("at most {MOST_SQUADS} squads"))]);
        return Ok(Vec::new());
    }
    let mut wanted: Vec<SquadId> = Vec::with_capacity(given.len());
    let ids: Vec<Option<SquadId>> = given.iter().map(|text| text.parse().ok()).collect();
    let named: Vec<SquadId> = ids.iter().copied().flatten().collect();
    let (tenant, limit) = (change.tenant(), i64::from(MOST_SQUADS));
    let known = squads::page(change.conn, tenant, Some(&named), None, limit)?;
    for (at, (text, id)) in given.iter().zip(ids).enumerate() {
        let fault = |code| FieldProblem::new(format!("/squads/{at}"), code, shorten_text(text));
        match id {
            None => faults.extend([fault(Code::InvalidId).allowed("a UUID")]),
            Some(id) if !known.iter().any(|squad| squad.squad_id == id) => {
                faults.extend([fault(Code::UnknownSquad)]);
            }
            Some(id) if wanted.contains(&id) => {
                faults.extend([fault(Code::OverlappingMembership)]);
            }
            Some(id) => wanted.push(id),
        }
    }
    Ok(wanted)
}
