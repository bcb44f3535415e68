//! Squads and guardians of some athletes, changed as a roster's rows would change them, whoever made the athletes.

use jiff::civil::Date;
use plimsoll_domain::roster::{
    self, Details, Incoming, Link, MembershipRole, Mode, Outcome, PersonRow, Status, Terms,
};

use super::current::Stored;
use super::input::Form;
use super::{apply, check};
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::services::write::Change;

/// What changes of one athlete's links.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// Who.
    pub athlete: AthleteId,
    /// Whether she leaves: every membership ends with the day before.
    pub leaves: bool,
    /// Squads that she joins today, or on her first day where that is later.
    pub joins: Vec<SquadId>,
    /// Squads that she leaves.
    pub quits: Vec<SquadId>,
    /// Guardians whom she has from today on.
    pub guardians: Vec<String>,
    /// Guardians whom she had until the day before.
    pub former_guardians: Vec<String>,
}

impl Wanted {
    /// Nothing yet.
    pub const fn of(athlete: AthleteId) -> Self {
        Self {
            athlete,
            leaves: false,
            joins: Vec::new(),
            quits: Vec::new(),
            guardians: Vec::new(),
            former_guardians: Vec::new(),
        }
    }
}

/// Changes them: planned by the rules of rosters, stored a batch a table; what is so already is not touched.
///
/// # Errors
/// 422 where the rules refuse somebody's links.
pub fn change(change: &mut Change<'_>, today: Date, wanted: &[Wanted]) -> Result<(), Problem> {
    if wanted.is_empty() {
        return Ok(());
    }
    let ids: Vec<AthleteId> = wanted.iter().map(|one| one.athlete).collect();
    // Circles of guardians go through anybody.
    let names_guardians = wanted.iter().any(|one| !one.guardians.is_empty());
    let only = (!names_guardians).then_some(ids.as_slice());
    let stored = Stored::by_id(change, only)?;
    let rows = wanted.iter().enumerate();
    let rows = rows.map(|(at, one)| row(&stored, today, at, one));
    let incoming = Incoming {
        mode: Mode::Delta,
        today,
        squads: Vec::new(),
        people: rows.collect::<Result<_, Problem>>()?,
        has_nameless: false,
    };
    let plan = roster::plan(&stored.current(change.source()), &incoming);
    let rejected = plan
        .people
        .iter()
        .filter_map(|person| match &person.outcome {
            Outcome::Rejected(faults) => Some(faults),
            _ => None,
        });
    let faults = rejected.flatten();
    let faults: Vec<_> = faults
        .filter_map(|fault| check::problem(fault, Form::Nested))
        .collect();
    if !faults.is_empty() {
        return Err(Problem::invalid(faults));
    }
    apply::apply(change, &stored, &plan).map(|_| ())
}

fn row(stored: &Stored, today: Date, at: usize, wanted: &Wanted) -> Result<PersonRow, Problem> {
    let lost = || Problem::internal(&"links are changed of somebody who is not there");
    let athletes = &stored.athletes;
    let place = athletes.binary_search_by_key(&wanted.athlete, |one| one.content.athlete_id);
    let athlete = &athletes[place.map_err(|_| lost())?].content;
    let squad = |id: &SquadId, is_over: bool| {
        let squad = stored.squads.iter().find(|squad| squad.squad_id == *id);
        let key = squad.and_then(|squad| stored.squad_key(squad));
        let terms = Terms {
            role: MembershipRole::Member,
            primary: false,
        };
        let from = (!is_over).then(|| today.max(athlete.joined_on));
        Ok(link(key.ok_or_else(lost)?, from, is_over, terms))
    };
    let joins = wanted.joins.iter().map(|id| squad(id, false));
    let quits = wanted.quits.iter().map(|id| squad(id, true));
    let guardian = |key: &String, is_over| link(key.clone(), None, is_over, ());
    let guardians = wanted.guardians.iter().map(|key| guardian(key, false));
    let former = wanted
        .former_guardians
        .iter()
        .map(|key| guardian(key, true));
    Ok(PersonRow {
        row: at + 1,
        key: stored.person_key(athlete).ok_or_else(lost)?,
        is_readable: true,
        details: Details {
            status: wanted.leaves.then_some(Status::Left),
            ..Details::default()
        },
        memberships: joins.chain(quits).collect::<Result<_, Problem>>()?,
        guardians: guardians.chain(former).collect(),
    })
}

const fn link<T>(key: String, from: Option<Date>, is_over: bool, terms: T) -> Link<T> {
    Link {
        key,
        from,
        to: None,
        is_over,
        terms,
    }
}
