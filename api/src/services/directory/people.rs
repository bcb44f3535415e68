//! Finding people: by what a filter narrows them to, each table once.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use uuid::Uuid;

use super::group;
use super::person::Person;
use crate::error::Problem;
use crate::ids::{AthleteId, DirectoryEntryId, SquadId};
use crate::services::{fields, text};
use crate::store::athletes::{self, Athlete};
use crate::store::directory::{self, Entry};
use crate::store::{Conn, Known, Tenant, Versioned, Who, guardian_links, memberships};

/// Whom to look at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Narrow {
    /// Everybody.
    All,
    /// Who has this id.
    Id(String),
    /// Whom the directory knows by this.
    UserName(String),
    /// Who has this key.
    ExternalId(String),
}

/// The people whom it is about, by id, without squads and guardians; those whom a directory has deleted are not there.
///
/// # Errors
/// Those of the database.
pub fn find(conn: &mut Conn, tenant: Tenant, narrow: &Narrow) -> Result<Vec<Person>, Problem> {
    let ids = match narrow {
        Narrow::All => {
            let entries = directory::of_people(conn, tenant)?;
            let athletes = athletes::known(conn, tenant, Who::WholeClub, Known::Now)?;
            return Ok(joined(entries, athletes));
        }
        Narrow::Id(text) => text.parse().into_iter().collect(),
        Narrow::UserName(name) => named(conn, tenant, name)?,
        Narrow::ExternalId(key) => keyed(conn, tenant, key)?,
    };
    of_ids(conn, tenant, &ids)
}

/// The people of these ids.
///
/// # Errors
/// Those of the database.
pub fn of_ids(
    conn: &mut Conn,
    tenant: Tenant,
    ids: &BTreeSet<Uuid>,
) -> Result<Vec<Person>, Problem> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let keys: Vec<DirectoryEntryId> = ids.iter().map(|id| (*id).into()).collect();
    let mut entries = directory::current_many(conn, tenant, &keys)?;
    entries.retain(|entry| entry.content.squad_id.is_none());
    let keys: Vec<AthleteId> = ids.iter().map(|id| (*id).into()).collect();
    let athletes = athletes::known(conn, tenant, Who::Athletes(&keys), Known::Now)?;
    Ok(joined(entries, athletes))
}

fn named(conn: &mut Conn, tenant: Tenant, name: &str) -> Result<BTreeSet<Uuid>, Problem> {
    if !is_possible(name) {
        return Ok(BTreeSet::new());
    }
    let entry = directory::by_user_name(conn, tenant, &text::name_key(name))?;
    let mut ids: BTreeSet<Uuid> = entry
        .map(|entry| entry.content.entry_id.uuid())
        .into_iter()
        .collect();
    // Whom no directory has named is called by her key, or by her id.
    ids.extend(keyed(conn, tenant, name)?);
    ids.extend(name.parse::<Uuid>());
    Ok(ids)
}

fn keyed(conn: &mut Conn, tenant: Tenant, key: &str) -> Result<BTreeSet<Uuid>, Problem> {
    if !is_possible(key) {
        return Ok(BTreeSet::new());
    }
    let athletes = athletes::by_external_ids(conn, tenant, &[key])?;
    let entry = directory::by_external_id(conn, tenant, key)?;
    let ids = athletes
        .into_iter()
        .map(|one| one.content.athlete_id.uuid());
    Ok(ids
        .chain(entry.map(|entry| entry.content.entry_id.uuid()))
        .collect())
}

/// A text that nobody can have, such as one with NUL, is not asked for.
pub(super) fn is_possible(given: &str) -> bool {
    text::line("", given, fields::LINE).is_ok()
}

fn joined(entries: Vec<Versioned<Entry>>, athletes: Vec<Versioned<Athlete>>) -> Vec<Person> {
    let mut people: BTreeMap<Uuid, Person> = BTreeMap::new();
    for athlete in athletes {
        let id = athlete.content.athlete_id.uuid();
        people.entry(id).or_insert_with(|| Person::new(id)).athlete = Some(athlete);
    }
    for entry in entries {
        let id = entry.content.entry_id.uuid();
        if entry.version.deleted {
            people.remove(&id);
        } else if entry.content.athlete_id.is_none() || people.contains_key(&id) {
            people.entry(id).or_insert_with(|| Person::new(id)).entry = Some(entry);
        }
    }
    people.into_values().collect()
}

/// Adds squads and guardians of today, and since when they are known: a query a table and batch.
///
/// # Errors
/// Those of the database.
pub fn fill(
    conn: &mut Conn,
    tenant: Tenant,
    today: Date,
    people: &mut [Person],
) -> Result<(), Problem> {
    let ids: Vec<AthleteId> = people.iter().filter_map(Person::athlete_id).collect();
    if ids.is_empty() {
        return Ok(());
    }
    let who = Who::Athletes(&ids);
    let holds = |from: Date, to: Option<Date>| from <= today && to.is_none_or(|to| today <= to);
    let places: BTreeMap<Uuid, usize> = people
        .iter()
        .enumerate()
        .map(|(at, one)| (one.id, at))
        .collect();
    let mut memberships = memberships::of_athletes(conn, tenant, &ids, Known::Now)?;
    memberships.retain(|(one, _)| holds(one.content.from_date, one.content.to_date));
    let squads: BTreeSet<SquadId> = memberships
        .iter()
        .map(|(_, squad)| squad.squad_id)
        .collect();
    let gone = group::deleted(conn, tenant, &squads)?;
    for (membership, squad) in memberships {
        let membership = membership.content;
        if !gone.contains(&squad.squad_id)
            && let Some(at) = places.get(&membership.athlete_id.uuid())
        {
            people[*at].squads.insert(squad.squad_id, squad.name);
        }
    }
    for link in guardian_links::known(conn, tenant, who, Known::Now)? {
        let link = link.content;
        if holds(link.from_date, link.to_date)
            && let Some(at) = places.get(&link.athlete_id.uuid())
        {
            people[*at].guardians.push(link.external_id);
        }
    }
    for (athlete_id, made_at) in athletes::made_at(conn, tenant, who)? {
        if let Some(at) = places.get(&athlete_id.uuid()) {
            people[*at].made_at = Some(made_at);
        }
    }
    Ok(())
}

/// The one person of an id, whole.
///
/// # Errors
/// 404.
pub fn one(conn: &mut Conn, tenant: Tenant, today: Date, id: Uuid) -> Result<Person, Problem> {
    let mut found = of_ids(conn, tenant, &BTreeSet::from([id]))?;
    fill(conn, tenant, today, &mut found)?;
    found.pop().ok_or_else(Problem::not_found)
}
