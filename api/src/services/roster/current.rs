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
        for membership in memberships::all(change.conn, tenant, now)? {
            stored
                .memberships
                .entry(membership.content.athlete_id)
                .or_default()
                .push(membership);
        }
        for link in guardian_links::known(change.conn, tenant, Who::WholeClub, now)? {
            stored
                .guardians
                .entry(link.content.athlete_id)
                .or_default()
                .push(link);
        }
        for other in second_copies::other_keys(change.conn, tenant, None)? {
            let first = stored
                .athletes
                .iter()
                .find(|one| one.content.athlete_id == other.athlete_id);
            let first = first.and_then(|one| one.content.external_id.clone());
            if let (Some(other), Some(first)) = (other.external_id, first) {
                stored.other_keys.insert(other, first);
            }
        }
        Ok(stored)
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
            let key = squad.external_id.clone()?;
            Some(KnownSquad {
                key,
                name: squad.name.clone(),
            })
        });
        let keys: HashMap<SquadId, &str> = self
            .squads
            .iter()
            .filter_map(|squad| Some((squad.squad_id, squad.external_id.as_deref()?)))
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
        keys: &HashMap<SquadId, &str>,
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
            key: keys.get(&one.content.squad_id).map(|key| (*key).to_owned()),
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
            key: athlete.external_id.clone(),
            is_own: athlete.source == source,
            name: athlete.display_name.clone(),
            birth_date: athlete.birth_date,
            joined_on: athlete.joined_on,
            time_zone: athlete.time_zone.clone(),
            memberships: memberships.map(membership).collect(),
            guardians: guardians.map(guardian).collect(),
        }
    }
}
