//! Groups, made, changed and deleted: the squad by the service of squads, its members as a roster would change them.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde_json::{Map, Value};
use uuid::Uuid;

use super::group::{self, Group};
use super::people;
use super::sent::put_over;
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::scim::kept::GROUP;
use crate::scim::patch::{self, Doing, Operation};
use crate::scim::{Fault, Kind, canonical};
use crate::services::roster::links::{self, Wanted};
use crate::services::squads::{self, SquadInput};
use crate::services::write::Change;
use crate::services::zones;
use crate::store::directory::{self, Entry};
use crate::store::{self, Known, Versioned, memberships};

/// What is wanted of a group.
#[derive(Debug, Clone)]
pub struct Wish {
    resource: Map<String, Value>,
    /// Whether somebody is added by name: then one who cannot be a member is refused, else she is left out.
    adds: bool,
}

/// The group of an id.
///
/// # Errors
/// 404.
pub fn find(change: &mut Change<'_>, id: SquadId) -> Result<Group, Problem> {
    let (tenant, today) = (change.tenant(), today(change)?);
    group::one(change.conn, tenant, today, id)
}

fn today(change: &mut Change<'_>) -> Result<Date, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    zones::club_date(change.conn, tenant, at)
}

/// What a `PUT` makes of a group.
///
/// # Errors
/// What no schema has, and values of other types.
pub fn put(before: &Group, body: &Map<String, Value>) -> Result<Wish, Problem> {
    let resource = put_over(before.settable(), canonical::resource(body, &GROUP)?);
    Ok(Wish {
        resource,
        adds: false,
    })
}

/// What a patch makes of a group.
///
/// # Errors
/// The first operation that cannot be applied.
pub fn patched(before: &Group, operations: &[Operation]) -> Result<Wish, Problem> {
    let mut resource = before.settable();
    patch::apply(&mut resource, &GROUP, operations)?;
    let adds = operations.iter().any(|one| one.doing == Doing::Add);
    Ok(Wish { resource, adds })
}

/// Stores a new group. A squad that the directory had deleted and whose key comes again is that squad.
///
/// # Errors
/// 422 for fields that are wrong, `not_unique` among them.
pub fn create(change: &mut Change<'_>, body: &Map<String, Value>) -> Result<Group, Problem> {
    let resource = put_over(Map::new(), canonical::resource(body, &GROUP)?);
    let input = input(&resource);
    let tenant = change.tenant();
    let squad_id = match former(change, input.external_id.as_deref())? {
        Some((entry, squad)) => {
            let squad_id = squad.squad_id;
            save(change, Some(entry), squad_id, false)?;
            squads::replace(change, squad, &input)?;
            squad_id
        }
        None => {
            let squad_id = change.new_id();
            squads::create(change, squad_id, &input)?;
            squad_id
        }
    };
    let today = today(change)?;
    let before = group::one(change.conn, tenant, today, squad_id)?;
    let wish = Wish {
        resource,
        adds: false,
    };
    replace_members(change, today, &before, &wish)?;
    group::one(change.conn, tenant, today, squad_id)
}

/// Gives a group other content; the same content changes nothing.
///
/// # Errors
/// As [`create`].
pub fn replace(change: &mut Change<'_>, before: &Group, wish: &Wish) -> Result<Group, Problem> {
    squads::replace(change, before.squad.clone(), &input(&wish.resource))?;
    let (tenant, today) = (change.tenant(), today(change)?);
    replace_members(change, today, before, wish)?;
    group::one(change.conn, tenant, today, before.squad.squad_id)
}

/// Takes a group out of the directory: everybody leaves it, and the squad stays for what is kept of it.
///
/// # Errors
/// Those of the database.
pub fn delete(change: &mut Change<'_>, before: &Group) -> Result<(), Problem> {
    let (tenant, today) = (change.tenant(), today(change)?);
    let squad_id = before.squad.squad_id;
    let to_come = memberships::of_squads(
        change.conn,
        tenant,
        &[squad_id],
        today,
        Date::MAX,
        Known::Now,
    )?;
    let athletes: BTreeSet<AthleteId> = to_come.iter().map(|one| one.content.athlete_id).collect();
    let quits = athletes.into_iter().map(|athlete| Wanted {
        quits: vec![squad_id],
        ..Wanted::of(athlete)
    });
    links::change(change, today, &quits.collect::<Vec<_>>())?;
    let entry = directory::current(change.conn, tenant, squad_id.uuid().into())?;
    save(change, entry, squad_id, true)
}

/// The deleted squad of a key.
fn former(
    change: &mut Change<'_>,
    key: Option<&str>,
) -> Result<Option<(Versioned<Entry>, store::squads::Squad)>, Problem> {
    let Some(key) = key.filter(|key| people::is_possible(key)) else {
        return Ok(None);
    };
    let tenant = change.tenant();
    let known = store::squads::by_external_ids(change.conn, tenant, &[key])?;
    let Some(squad) = known.into_iter().next() else {
        return Ok(None);
    };
    let entry = directory::current(change.conn, tenant, squad.squad_id.uuid().into())?;
    let entry = entry.filter(|entry| entry.version.deleted);
    Ok(entry.map(|entry| (entry, squad)))
}

fn save(
    change: &mut Change<'_>,
    before: Option<Versioned<Entry>>,
    squad_id: SquadId,
    deleted: bool,
) -> Result<(), Problem> {
    let content = Entry {
        entry_id: squad_id.uuid().into(),
        athlete_id: None,
        squad_id: Some(squad_id),
        user_name: None,
        user_name_key: None,
        external_id: None,
        display_name: None,
        roles: String::new(),
        active: !deleted,
    };
    super::user::save(change, before, content, deleted)
}

fn input(resource: &Map<String, Value>) -> SquadInput {
    let text = |name: &str| {
        resource
            .get(name)
            .and_then(Value::as_str)
            .map(str::to_owned)
    };
    SquadInput {
        name: text("displayName"),
        external_id: text("externalId"),
    }
}

/// Lets those join who are named and do not belong to it, and those leave who belong to it and are not named.
fn replace_members(
    change: &mut Change<'_>,
    today: Date,
    before: &Group,
    wish: &Wish,
) -> Result<(), Problem> {
    let squad_id = before.squad.squad_id;
    let there: BTreeSet<Uuid> = before.members.iter().map(|id| id.uuid()).collect();
    let wanted = named(&wish.resource)?;
    let new: BTreeSet<Uuid> = wanted.difference(&there).copied().collect();
    let joining = joining(change, &new, wish.adds)?;
    let joins = joining.into_iter().map(|athlete| Wanted {
        joins: vec![squad_id],
        ..Wanted::of(athlete)
    });
    let quits = there.difference(&wanted).map(|id| Wanted {
        quits: vec![squad_id],
        ..Wanted::of((*id).into())
    });
    let all: Vec<Wanted> = joins.chain(quits).collect();
    links::change(change, today, &all)
}

fn named(resource: &Map<String, Value>) -> Result<BTreeSet<Uuid>, Problem> {
    let members = resource.get("members").and_then(Value::as_array);
    let ids = members.into_iter().flatten().map(|member| {
        let text = member
            .get("value")
            .and_then(Value::as_str)
            .unwrap_or_default();
        text.parse::<Uuid>().map_err(|_| unknown(text))
    });
    Ok(ids.collect::<Result<_, Fault>>()?)
}

fn unknown(id: &str) -> Fault {
    Fault::new(
        Kind::Value,
        id,
        "There is no user of this id to be a member.",
    )
}

/// Those of the new members who can be: athletes who are still there.
fn joining(
    change: &mut Change<'_>,
    new: &BTreeSet<Uuid>,
    adds: bool,
) -> Result<Vec<AthleteId>, Problem> {
    let tenant = change.tenant();
    let people = people::of_ids(change.conn, tenant, new)?;
    if people.len() < new.len() {
        let known: BTreeSet<Uuid> = people.iter().map(|person| person.id).collect();
        let first = new.difference(&known).next();
        return Err(unknown(&first.map(Uuid::to_string).unwrap_or_default()).into());
    }
    let athletes = people.iter().filter(|person| person.is_athlete());
    let (there, gone): (Vec<_>, Vec<_>) = athletes.partition(|person| person.is_active());
    if let Some(first) = gone.first().filter(|_| adds) {
        let detail = "The user is not active; set active first.";
        return Err(Fault::new(Kind::Value, first.id.to_string(), detail).into());
    }
    Ok(there
        .into_iter()
        .filter_map(super::person::Person::athlete_id)
        .collect())
}
