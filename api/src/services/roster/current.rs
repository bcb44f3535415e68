//! The roster that is there, read once for a whole import: a query a table.

use std::collections::{BTreeMap, HashMap};

use plimsoll_domain::roster::{Current, Dated, KnownPerson, KnownSquad, Terms};

use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::services::write::Change;
use crate::store::athletes::{self, Athlete};
use crate::store::guardian_links::{self, GuardianLink};
use crate::store::memberships::{self, Membership};
use crate::store::squads::{self, Squad};
use crate::store::{Known, Versioned, Who, second_copies};

/// The stored rows, in the order in which the plan numbers them.
#[derive(Debug, Default)]
pub struct Stored {
    /// Squads with a key.
    pub squads: Vec<Squad>,
    /// Every athlete.
    pub athletes: Vec<Versioned<Athlete>>,
    /// The memberships of each.
    pub memberships: BTreeMap<AthleteId, Vec<Versioned<Membership>>>,
    /// The guardians of each.
    pub guardians: BTreeMap<AthleteId, Vec<Versioned<GuardianLink>>>,
    /// The first key of who was entered again under another one, by that one.
    pub other_keys: BTreeMap<String, String>,
    /// Whether who has no key in a roster has one all the same, made of her id: for changes that name people by their ids.
    by_id: bool,
}

impl Stored {
    /// Reads all of it as known now.
    pub fn read(change: &mut Change<'_>) -> Result<Self, Problem> {
        let (tenant, now) = (change.tenant(), Known::Now);
        let squads = squads::all(change.conn, tenant)?;
        let mut stored = Self {
            squads: squads
                .into_iter()
                .filter(|squad| squad.external_id.is_some())
                .collect(),
            athletes: athletes::known(change.conn, tenant, Who::WholeClub, now)?,
            ..Self::default()
        };
        let memberships = memberships::all(change.conn, tenant, now)?;
        let guardians = guardian_links::known(change.conn, tenant, Who::WholeClub, now)?;
        stored.add(memberships, guardians);
        let first_keys: HashMap<AthleteId, &str> = stored
            .athletes
            .iter()
            .filter_map(|one| Some((one.content.athlete_id, one.content.external_id.as_deref()?)))
            .collect();
        let others = second_copies::other_keys(change.conn, tenant, None)?;
        let led = others.into_iter().filter_map(|other| {
            let first = first_keys.get(&other.athlete_id)?;
            Some((other.external_id?, (*first).to_owned()))
        });
        stored.other_keys = led.collect();
        Ok(stored)
    }

    /// Reads what is known now of some athletes, or of everybody, for changes that name people and squads by their ids.
    pub fn by_id(change: &mut Change<'_>, only: Option<&[AthleteId]>) -> Result<Self, Problem> {
        let (tenant, now) = (change.tenant(), Known::Now);
        let who = only.map_or(Who::WholeClub, Who::Athletes);
        let mut stored = Self {
            squads: squads::all(change.conn, tenant)?,
            athletes: athletes::known(change.conn, tenant, who, now)?,
            by_id: true,
            ..Self::default()
        };
        let memberships = match only {
            None => memberships::all(change.conn, tenant, now)?,
            Some(athletes) => {
                let found = memberships::of_athletes(change.conn, tenant, athletes, now)?;
                found
                    .into_iter()
                    .map(|(membership, _)| membership)
                    .collect()
            }
        };
        let guardians = guardian_links::known(change.conn, tenant, who, now)?;
        stored.add(memberships, guardians);
        Ok(stored)
    }

    fn add(
        &mut self,
        memberships: Vec<Versioned<Membership>>,
        guardians: Vec<Versioned<GuardianLink>>,
    ) {
        for membership in memberships {
            let of_one = self.memberships.entry(membership.content.athlete_id);
            of_one.or_default().push(membership);
        }
        for link in guardians {
            let of_one = self.guardians.entry(link.content.athlete_id);
            of_one.or_default().push(link);
        }
    }

    /// The key of a squad.
    pub fn squad_key(&self, squad: &Squad) -> Option<String> {
        let key = squad.external_id.clone();
        key.or_else(|| self.by_id.then(|| key_of_id(&squad.squad_id)))
    }

    /// The key of an athlete.
    pub fn person_key(&self, athlete: &Athlete) -> Option<String> {
        let key = athlete.external_id.clone();
        key.or_else(|| self.by_id.then(|| key_of_id(&athlete.athlete_id)))
    }

    /// The external ids of athletes.
    pub fn external_ids(&self) -> impl Iterator<Item = &str> {
        self.athletes
            .iter()
            .filter_map(|one| one.content.external_id.as_deref())
    }

    /// As the plan takes it, for a roster of this source.
    pub fn current(&self, source: &str) -> Current {
        let squads = self.squads.iter().filter_map(|squad| {
            Some(KnownSquad {
                key: self.squad_key(squad)?,
                name: squad.name.clone(),
            })
        });
        let keys: HashMap<SquadId, String> = self
            .squads
            .iter()
            .filter_map(|squad| Some((squad.squad_id, self.squad_key(squad)?)))
            .collect();
        let person = |athlete: &Versioned<Athlete>| self.person(&athlete.content, source, &keys);
        Current {
            squads: squads.collect(),
            people: self.athletes.iter().map(person).collect(),
        }
    }

    fn person(
        &self,
        athlete: &Athlete,
        source: &str,
        keys: &HashMap<SquadId, String>,
    ) -> KnownPerson {
        let memberships = self
            .memberships
            .get(&athlete.athlete_id)
            .into_iter()
            .flatten();
        let guardians = self
            .guardians
            .get(&athlete.athlete_id)
            .into_iter()
            .flatten();
        let membership = |one: &Versioned<Membership>| Dated {
            key: keys.get(&one.content.squad_id).cloned(),
            from: one.content.from_date,
            to: one.content.to_date,
            terms: Terms {
                role: one.content.role,
                primary: one.content.is_primary,
            },
        };
        let guardian = |one: &Versioned<GuardianLink>| Dated {
            key: Some(one.content.external_id.clone()),
            from: one.content.from_date,
            to: one.content.to_date,
            terms: (),
        };
        KnownPerson {
            key: self.person_key(athlete),
            is_own: self.by_id || athlete.source == source,
            name: athlete.display_name.clone(),
            birth_date: athlete.birth_date,
            joined_on: athlete.joined_on,
            time_zone: athlete.time_zone.clone(),
            memberships: memberships.map(membership).collect(),
            guardians: guardians.map(guardian).collect(),
        }
    }
}

/// A key that no roster gives: texts of rosters have no control characters.
fn key_of_id(id: &impl std::fmt::Display) -> String {
    format!("\u{0}{id}")
}
