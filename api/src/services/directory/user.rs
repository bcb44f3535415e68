//! Users, made, changed and deleted: an athlete through the services of athletes and rosters, everybody beside them as an entry.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde_json::{Map, Value};
use uuid::Uuid;

use super::people;
use super::person::Person;
use super::sent::{self, Sent};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::AthleteId;
use crate::scim::kept::USER;
use crate::scim::patch::{self, Operation};
use crate::services::athletes::{self, AthleteInput};
use crate::services::roster::links::{self, Wanted};
use crate::services::write::Change;
use crate::services::{text, zones};
use crate::store::directory::{self, Entry};
use crate::store::{self, Versioned};

/// The club's date of a change.
fn today(change: &mut Change<'_>) -> Result<Date, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    zones::club_date(change.conn, tenant, at)
}

/// Stores a new user. Who comes back under the key of somebody whom the directory had deleted is that athlete, with her history.
///
/// # Errors
/// 422 for fields that are wrong, `not_unique` among them.
pub fn create(change: &mut Change<'_>, body: &Map<String, Value>) -> Result<Person, Problem> {
    let body = sent::put_over(Map::new(), sent::canonical(body)?);
    let sent = Sent::read(&body)?;
    let today = today(change)?;
    let former = former(change, today, &sent)?;
    let id = former
        .as_ref()
        .map_or_else(|| change.new_id(), |former| former.id);
    let before = former.unwrap_or_else(|| Person::new(id));
    store(change, today, &before, &sent)?;
    let tenant = change.tenant();
    people::one(change.conn, tenant, today, id)
}

/// Gives a user other content; the same content changes nothing.
///
/// # Errors
/// As [`create`].
pub fn replace(
    change: &mut Change<'_>,
    before: &Person,
    wanted: &Map<String, Value>,
) -> Result<Person, Problem> {
    let sent = Sent::read(wanted)?;
    let today = today(change)?;
    store(change, today, before, &sent)?;
    let tenant = change.tenant();
    people::one(change.conn, tenant, today, before.id)
}

/// What a `PUT` makes of a user.
///
/// # Errors
/// What no schema has, and values of other types.
pub fn put(before: &Person, body: &Map<String, Value>) -> Result<Map<String, Value>, Problem> {
    Ok(sent::put_over(before.settable(), sent::canonical(body)?))
}

/// What a patch makes of a user.
///
/// # Errors
/// The first operation that cannot be applied.
pub fn patched(before: &Person, operations: &[Operation]) -> Result<Map<String, Value>, Problem> {
    let mut wanted = before.settable();
    patch::apply(&mut wanted, &USER, operations)?;
    Ok(wanted)
}

/// Takes a user out of the directory: an athlete leaves every squad, and nothing of her history goes.
///
/// # Errors
/// Those of the database.
pub fn delete(change: &mut Change<'_>, before: Person) -> Result<(), Problem> {
    let today = today(change)?;
    leave(change, today, &before)?;
    let content = Entry {
        entry_id: before.id.into(),
        athlete_id: before.athlete_id(),
        squad_id: None,
        user_name: None,
        user_name_key: None,
        external_id: None,
        display_name: None,
        roles: before.roles().collect::<Vec<_>>().join(","),
        active: false,
    };
    save(change, before.entry, content, true)
}

/// The user of an id.
///
/// # Errors
/// 404.
pub fn find(change: &mut Change<'_>, id: Uuid) -> Result<Person, Problem> {
    let (tenant, today) = (change.tenant(), today(change)?);
    people::one(change.conn, tenant, today, id)
}

/// The athlete of the key, where a directory had deleted her.
fn former(change: &mut Change<'_>, today: Date, sent: &Sent) -> Result<Option<Person>, Problem> {
    let Some(key) = sent.external_id.as_deref().filter(|_| sent.is_athlete()) else {
        return Ok(None);
    };
    let tenant = change.tenant();
    let known = store::athletes::by_external_ids(change.conn, tenant, &[key])?;
    let Some(athlete) = known.into_iter().next() else {
        return Ok(None);
    };
    let id = athlete.content.athlete_id.uuid();
    let entry = directory::current(change.conn, tenant, id.into())?;
    let entry = entry.filter(|entry| entry.version.deleted);
    let Some(entry) = entry else {
        return Ok(None);
    };
    let mut person = Person {
        entry: Some(entry),
        athlete: Some(athlete),
        ..Person::new(id)
    };
    people::fill(
        change.conn,
        tenant,
        today,
        std::slice::from_mut(&mut person),
    )?;
    Ok(Some(person))
}

/// Makes of somebody what is sent.
fn store(
    change: &mut Change<'_>,
    today: Date,
    before: &Person,
    sent: &Sent,
) -> Result<(), Problem> {
    require_free(change, before, sent)?;
    let athlete_id = keep_athlete(change, today, before, sent)?;
    let is_kept_there = athlete_id.is_some();
    let content = Entry {
        entry_id: before.id.into(),
        athlete_id,
        squad_id: None,
        user_name: Some(sent.user_name.clone()),
        user_name_key: Some(text::name_key(&sent.user_name)),
        external_id: sent.external_id.clone().filter(|_| !is_kept_there),
        display_name: sent.display_name.clone().filter(|_| !is_kept_there),
        roles: sent.roles.join(","),
        active: sent.active,
    };
    let says_nothing_new = before.entry.is_none()
        && before.athlete.is_some()
        && sent.user_name == before.user_name()
        && (sent.roles.is_empty(), sent.active) == (true, true);
    let is_so = before
        .entry
        .as_ref()
        .is_some_and(|entry| !entry.version.deleted && entry.content == content);
    if !says_nothing_new && !is_so {
        save(change, before.entry.clone(), content, false)?;
    }
    if before.is_active() && before.is_athlete() && !sent.is_there() {
        leave(change, today, before)?;
    }
    if let Some(athlete_id) = athlete_id.filter(|_| sent.is_athlete()) {
        keep_guardians(change, today, (athlete_id, before), sent)?;
    }
    Ok(())
}

/// Appends a version of an entry, the first where there is none.
pub(super) fn save(
    change: &mut Change<'_>,
    before: Option<Versioned<Entry>>,
    content: Entry,
    deleted: bool,
) -> Result<(), Problem> {
    let replaces = match before {
        Some(before) => before.version.number,
        None => {
            let first = std::slice::from_ref(&content);
            change.store_with(|conn, tenant, moment, author| {
                directory::insert(conn, tenant, moment, author, first)
            })?;
            if !deleted {
                return Ok(());
            }
            1
        }
    };
    let next = store::Change {
        replaces,
        content,
        deleted,
    };
    Ok(change.store_with(|conn, tenant, moment, author| {
        directory::supersede(conn, tenant, moment, author, &[next])
    })?)
}

/// Refuses a name or a key that somebody else has.
fn require_free(change: &mut Change<'_>, before: &Person, sent: &Sent) -> Result<(), Problem> {
    let tenant = change.tenant();
    let mut faults = Vec::new();
    let key = text::name_key(&sent.user_name);
    let holder = directory::by_user_name(change.conn, tenant, &key)?;
    let holder = holder.map(|entry| entry.content.entry_id.uuid());
    let called = called_by_key(change, &sent.user_name)?;
    if [holder, called]
        .into_iter()
        .flatten()
        .any(|id| id != before.id)
    {
        faults.push(FieldProblem::new(
            "/userName",
            Code::NotUnique,
            sent.user_name.clone(),
        ));
    }
    if let Some(external_id) = &sent.external_id {
        let athletes = store::athletes::by_external_ids(change.conn, tenant, &[external_id])?;
        let entry = directory::by_external_id(change.conn, tenant, external_id)?;
        let athletes = athletes
            .into_iter()
            .map(|one| one.content.athlete_id.uuid());
        let mut holders = athletes.chain(entry.map(|entry| entry.content.entry_id.uuid()));
        if holders.any(|id| id != before.id) {
            faults.push(FieldProblem::new(
                "/externalId",
                Code::NotUnique,
                external_id.clone(),
            ));
        }
    }
    match faults.is_empty() {
        true => Ok(()),
        false => Err(Problem::invalid(faults)),
    }
}

/// The athlete whom no directory has named and who is called by this key until then.
fn called_by_key(change: &mut Change<'_>, name: &str) -> Result<Option<Uuid>, Problem> {
    let tenant = change.tenant();
    let known = store::athletes::by_external_ids(change.conn, tenant, &[name])?;
    let Some(athlete) = known.first() else {
        return Ok(None);
    };
    let id = athlete.content.athlete_id.uuid();
    let named = directory::current(change.conn, tenant, id.into())?;
    Ok(named.is_none().then_some(id))
}

/// Makes or changes the athlete, if she is or was one.
fn keep_athlete(
    change: &mut Change<'_>,
    today: Date,
    before: &Person,
    sent: &Sent,
) -> Result<Option<AthleteId>, Problem> {
    let known = before.athlete.as_ref();
    if known.is_none() && !sent.is_athlete() {
        return Ok(None);
    }
    let there = known.map(|athlete| AthleteInput::of(&athlete.content));
    let joined_on = there.as_ref().and_then(|there| there.joined_on.clone());
    let (birth_date, time_zone) = match (sent.is_athlete(), &there) {
        (false, Some(there)) => (there.birth_date.clone(), there.time_zone.clone()),
        _ => (sent.birth_date.clone(), sent.time_zone.clone()),
    };
    let name = sent.display_name.clone();
    let input = AthleteInput {
        external_id: sent.external_id.clone(),
        display_name: name.or_else(|| there.and_then(|there| there.display_name)),
        birth_date,
        joined_on: sent
            .joined_on
            .clone()
            .or(joined_on)
            .or_else(|| Some(today.to_string())),
        time_zone,
    };
    let athlete_id = AthleteId::from(before.id);
    match known {
        Some(known) => athletes::replace(change, known, &input)?,
        None => athletes::create(change, athlete_id, &input, &[])?,
    };
    Ok(Some(athlete_id))
}

/// Gives her the guardians that are sent, and ends the links to others.
fn keep_guardians(
    change: &mut Change<'_>,
    today: Date,
    (athlete_id, before): (AthleteId, &Person),
    sent: &Sent,
) -> Result<(), Problem> {
    let there: BTreeSet<&String> = before.guardians.iter().collect();
    let wanted: BTreeSet<&String> = sent.guardians.iter().collect();
    if there == wanted {
        return Ok(());
    }
    let owned = |keys: Vec<&&String>| keys.into_iter().map(|key| (*key).clone()).collect();
    let change_of = Wanted {
        guardians: owned(wanted.difference(&there).collect()),
        former_guardians: owned(there.difference(&wanted).collect()),
        ..Wanted::of(athlete_id)
    };
    links::change(change, today, &[change_of])
}

fn leave(change: &mut Change<'_>, today: Date, before: &Person) -> Result<(), Problem> {
    let Some(athlete_id) = before.athlete_id() else {
        return Ok(());
    };
    let leaves = Wanted {
        leaves: true,
        ..Wanted::of(athlete_id)
    };
    links::change(change, today, &[leaves])
}
