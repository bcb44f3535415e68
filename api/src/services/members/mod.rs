//! Members of squads: which athlete, in which capacity, from when to when.

pub mod input;

pub use input::{MemberInput, NewMember};

use std::collections::HashMap;

use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, MembershipId, SquadId};
use crate::services::fields::Faults;
use crate::services::people::People;
use crate::services::write::Change;
use crate::services::{reach, schedule, zones};
use crate::store::athletes::{self, Athlete};
use crate::store::memberships::{self, Membership};
use crate::store::{self, Conn, Known, Versioned, Who};
use input::{Terms, collisions};

/// A membership as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "membership_id": "0199a1b2-1111-7e4f-8a5b-6c7d8e9f0a1b",
    "squad_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "external_id": "P-07",
    "display_name": "Runa Falk", "role": "member", "from": "2026-08-03", "to": null,
    "primary": true, "version": 1}))]
pub struct MemberAnswer {
    /// Its id.
    pub membership_id: MembershipId,
    /// The squad.
    pub squad_id: SquadId,
    /// The athlete.
    pub athlete_id: AthleteId,
    /// The roster's own key of the athlete.
    pub external_id: Option<String>,
    /// The athlete's name.
    pub display_name: String,
    /// member, guest or call_up.
    #[schema(value_type = String)]
    pub role: &'static str,
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day, once it is known.
    #[schema(value_type = Option<String>, format = Date)]
    pub to: Option<Date>,
    /// Whether it is her main squad.
    pub primary: bool,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl MemberAnswer {
    fn new(membership: &Membership, version: i32, athlete: &Athlete) -> Self {
        Self {
            membership_id: membership.membership_id,
            squad_id: membership.squad_id,
            athlete_id: membership.athlete_id,
            external_id: athlete.external_id.clone(),
            display_name: athlete.display_name.clone(),
            role: membership.role.code(),
            from: membership.from_date,
            to: membership.to_date,
            primary: membership.is_primary,
            version,
        }
    }
}

/// Takes an athlete into a squad.
pub fn create(
    change: &mut Change<'_>,
    squad_id: SquadId,
    input: &NewMember,
) -> Result<MemberAnswer, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let mut faults = Faults::default();
    let subject = People::subject_of(change, input.naming())?;
    let subject = faults.take(subject);
    let today = zones::club_date(change.conn, tenant, at)?;
    let first_day = subject.as_ref().map_or(today, |subject| subject.joined_on);
    let terms = input.terms(today.max(first_day), &mut faults);
    let wanted = subject.zip(terms).map(|(subject, terms)| {
        let membership_id = change.new_id();
        membership(membership_id, squad_id, subject.athlete_id, terms)
    });
    let wanted = fitting(change, wanted, faults)?;
    change.store_with(|conn, tenant, moment, author| {
        memberships::insert(conn, tenant, moment, author, std::slice::from_ref(&wanted))
    })?;
    schedule::membership_changed(change, None, Some(&wanted))?;
    answer(change.conn, change.caller, &wanted, 1)
}

/// Gives a membership other terms; the same terms change nothing.
pub fn replace(
    change: &mut Change<'_>,
    current: &Versioned<Membership>,
    input: &MemberInput,
) -> Result<MemberAnswer, Problem> {
    let (before, version) = (&current.content, current.version.number);
    let mut faults = Faults::default();
    let terms = input.check(&mut faults);
    let wanted = terms.map(|terms| {
        membership(
            before.membership_id,
            before.squad_id,
            before.athlete_id,
            terms,
        )
    });
    let wanted = fitting(change, wanted, faults)?;
    if wanted == *before {
        return answer(change.conn, change.caller, before, version);
    }
    supersede(change, version, wanted.clone(), false)?;
    schedule::membership_changed(change, Some(before), Some(&wanted))?;
    answer(change.conn, change.caller, &wanted, version + 1)
}

/// Takes a membership back, as if it had never been; what was known of it before stays readable.
pub fn remove(change: &mut Change<'_>, current: Versioned<Membership>) -> Result<(), Problem> {
    let before = current.content.clone();
    supersede(change, current.version.number, current.content, true)?;
    schedule::membership_changed(change, Some(&before), None)
}

/// The undeleted membership of an id in a squad, where both are within the caller's reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    squad_id: SquadId,
    id: MembershipId,
) -> Result<Versioned<Membership>, Problem> {
    reach::squad(conn, caller, squad_id)?;
    let found = memberships::current(conn, caller.tenant, id)?
        .filter(|found| !found.version.deleted && found.content.squad_id == squad_id)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// The answer for one membership.
pub fn answer(
    conn: &mut Conn,
    caller: &Caller,
    membership: &Membership,
    version: i32,
) -> Result<MemberAnswer, Problem> {
    let athlete = reach::athlete(conn, caller, membership.athlete_id)?.content;
    Ok(MemberAnswer::new(membership, version, &athlete))
}

/// The members of a squad on a date, by athlete, as far as they are within the caller's reach: one
/// query for the memberships and one for the names.
pub fn on_date(
    conn: &mut Conn,
    caller: &Caller,
    squad_id: SquadId,
    on: Date,
) -> Result<Vec<MemberAnswer>, Problem> {
    reach::squad(conn, caller, squad_id)?;
    let reached = reach::of(conn, caller)?;
    let tenant = caller.tenant;
    let mut members = memberships::of_squads(conn, tenant, &[squad_id], on, on, Known::Now)?;
    members.retain(|member| reached.includes(member.content.athlete_id));
    let ids: Vec<AthleteId> = members.iter().map(|one| one.content.athlete_id).collect();
    let athletes = athletes::known(conn, tenant, Who::Athletes(&ids), Known::Now)?;
    let athletes: HashMap<AthleteId, Athlete> = athletes
        .into_iter()
        .map(|athlete| (athlete.content.athlete_id, athlete.content))
        .collect();
    let answer = |member: Versioned<Membership>| {
        let athlete = athletes.get(&member.content.athlete_id)?;
        Some(MemberAnswer::new(
            &member.content,
            member.version.number,
            athlete,
        ))
    };
    Ok(members.into_iter().filter_map(answer).collect())
}

fn membership(
    membership_id: MembershipId,
    squad_id: SquadId,
    athlete_id: AthleteId,
    terms: Terms,
) -> Membership {
    Membership {
        membership_id,
        squad_id,
        athlete_id,
        role: terms.role,
        from_date: terms.from,
        to_date: terms.to,
        is_primary: terms.primary,
    }
}

/// The membership, if it can stand beside the athlete's others.
fn fitting(
    change: &mut Change<'_>,
    wanted: Option<Membership>,
    mut faults: Faults,
) -> Result<Membership, Problem> {
    if let Some(wanted) = &wanted {
        let tenant = change.tenant();
        let athlete = [wanted.athlete_id];
        let others = memberships::of_athletes(change.conn, tenant, &athlete, Known::Now)?;
        faults.extend(collisions(
            wanted,
            others.iter().map(|(other, _)| &other.content),
        ));
    }
    faults.settle(wanted)
}

fn supersede(
    change: &mut Change<'_>,
    replaces: i32,
    content: Membership,
    deleted: bool,
) -> Result<(), Problem> {
    let next = store::Change {
        replaces,
        content,
        deleted,
    };
    Ok(change.store_with(|conn, tenant, moment, author| {
        memberships::supersede(conn, tenant, moment, author, &[next])
    })?)
}
