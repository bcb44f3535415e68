//! An athlete as she is answered, with her squads.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use crate::auth::Reach;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::services::reach;
use crate::store::athletes::Athlete;
use crate::store::memberships::{self, Membership};
use crate::store::squads::Squad;
use crate::store::{Conn, Known, Versioned};

/// An athlete of the club.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "external_id": "P-07",
    "display_name": "Runa Falk", "birth_date": "2011-03-14", "joined_on": "2026-01-01",
    "time_zone": null, "squads": [{
        "squad_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "name": "U16 girls",
        "role": "member", "from": "2026-01-01", "to": null, "primary": false}],
    "version": 1}))]
pub struct AthleteAnswer {
    /// Her id.
    pub athlete_id: AthleteId,
    /// The roster's own key.
    pub external_id: Option<String>,
    /// The name shown.
    pub display_name: String,
    /// Day of birth, where the club tells it.
    #[schema(value_type = Option<String>, format = Date)]
    pub birth_date: Option<Date>,
    /// The first day of her record.
    #[schema(value_type = String, format = Date)]
    pub joined_on: Date,
    /// Her home zone, where it is not the club's.
    pub time_zone: Option<String>,
    /// Her memberships, past and future ones too, by first day. A coach who is limited to squads sees
    /// those of these squads.
    pub squads: Vec<AthleteSquad>,
    /// 1, 2, 3, …, without the squads; also the ETag.
    pub version: i32,
}

/// A squad an athlete belongs to.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct AthleteSquad {
    /// The squad.
    pub squad_id: SquadId,
    /// Its name.
    pub name: String,
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
}

impl AthleteAnswer {
    fn new(athlete: Versioned<Athlete>, squads: Vec<AthleteSquad>) -> Self {
        let Versioned { content, version } = athlete;
        Self {
            athlete_id: content.athlete_id,
            external_id: content.external_id,
            display_name: content.display_name,
            birth_date: content.birth_date,
            joined_on: content.joined_on,
            time_zone: content.time_zone,
            squads,
            version: version.number,
        }
    }
}

impl AthleteSquad {
    fn new(membership: &Membership, squad: Squad) -> Self {
        Self {
            squad_id: squad.squad_id,
            name: squad.name,
            role: membership.role.code(),
            from: membership.from_date,
            to: membership.to_date,
            primary: membership.is_primary,
        }
    }
}

/// The answers for athletes within the caller's reach: one query for the squads of all.
pub fn answers(
    conn: &mut Conn,
    caller: &Caller,
    athletes: Vec<Versioned<Athlete>>,
) -> Result<Vec<AthleteAnswer>, Problem> {
    let ids: Vec<AthleteId> = athletes.iter().map(|one| one.content.athlete_id).collect();
    let limit = match caller.principal.reach() {
        Reach::Squads(_) => reach::squads(conn, caller)?,
        Reach::Club | Reach::Athletes(_) => None,
    };
    let mut squads: BTreeMap<AthleteId, Vec<AthleteSquad>> = BTreeMap::new();
    for (membership, squad) in memberships::of_athletes(conn, caller.tenant, &ids, Known::Now)? {
        let membership = membership.content;
        if limit
            .as_ref()
            .is_none_or(|limit| limit.contains(&squad.squad_id))
        {
            let of_one = squads.entry(membership.athlete_id).or_default();
            of_one.push(AthleteSquad::new(&membership, squad));
        }
    }
    let answer = |athlete: Versioned<Athlete>| {
        let squads = squads.remove(&athlete.content.athlete_id);
        AthleteAnswer::new(athlete, squads.unwrap_or_default())
    };
    Ok(athletes.into_iter().map(answer).collect())
}

/// The answer for one athlete.
pub fn answer(
    conn: &mut Conn,
    caller: &Caller,
    athlete: Versioned<Athlete>,
) -> Result<AthleteAnswer, Problem> {
    let mut answers = answers(conn, caller, vec![athlete])?;
    answers.pop().ok_or_else(Problem::not_found)
}
