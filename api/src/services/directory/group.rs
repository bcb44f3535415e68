//! Squads, as groups.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::{Map, Value, json};

use super::people::{Narrow, is_possible};
use super::tag;
use crate::error::Problem;
use crate::ids::{AthleteId, DirectoryEntryId, SquadId};
use crate::scim::kept::GROUP;
use crate::store::squads::{self, Squad};
use crate::store::{Conn, Known, Tenant, directory, memberships};

/// A squad with who belongs to it today.
#[derive(Debug, Clone)]
pub struct Group {
    /// The squad.
    pub squad: Squad,
    /// Its athletes.
    pub members: BTreeSet<AthleteId>,
    /// When the squad, or who belongs to it, was last changed.
    pub changed_at: Timestamp,
}

/// The squads that it is about, by id; those that a directory has deleted are not there. Nobody knows squads by a user name.
///
/// # Errors
/// Those of the database.
pub fn find(conn: &mut Conn, tenant: Tenant, narrow: &Narrow) -> Result<Vec<Squad>, Problem> {
    let mut found = match narrow {
        Narrow::All => squads::all(conn, tenant)?,
        Narrow::Id(text) => match text.parse() {
            Ok(id) => squads::find(conn, tenant, id)?.into_iter().collect(),
            Err(_) => Vec::new(),
        },
        Narrow::ExternalId(key) if is_possible(key) => {
            squads::by_external_ids(conn, tenant, &[key])?
        }
        Narrow::ExternalId(_) | Narrow::UserName(_) => Vec::new(),
    };
    let ids = found.iter().map(|squad| squad.squad_id).collect();
    let gone = deleted(conn, tenant, &ids)?;
    found.retain(|squad| !gone.contains(&squad.squad_id));
    Ok(found)
}

/// Those of some squads that a directory has deleted.
///
/// # Errors
/// Those of the database.
pub fn deleted(
    conn: &mut Conn,
    tenant: Tenant,
    squads: &BTreeSet<SquadId>,
) -> Result<BTreeSet<SquadId>, Problem> {
    let ids: Vec<DirectoryEntryId> = squads.iter().map(|squad| squad.uuid().into()).collect();
    let entries = directory::current_many(conn, tenant, &ids)?.into_iter();
    let gone = entries.filter(|entry| entry.version.deleted);
    Ok(gone.filter_map(|entry| entry.content.squad_id).collect())
}

/// Squads with who belongs to them today: one query.
///
/// # Errors
/// Those of the database.
pub fn filled(
    conn: &mut Conn,
    tenant: Tenant,
    today: Date,
    found: Vec<Squad>,
) -> Result<Vec<Group>, Problem> {
    let ids: Vec<SquadId> = found.iter().map(|squad| squad.squad_id).collect();
    let group = |squad: Squad| Group {
        members: BTreeSet::new(),
        changed_at: squad.updated_at,
        squad,
    };
    let mut groups: Vec<Group> = found.into_iter().map(group).collect();
    if ids.is_empty() {
        return Ok(groups);
    }
    let places: BTreeMap<SquadId, usize> =
        ids.iter().enumerate().map(|(at, id)| (*id, at)).collect();
    for member in memberships::of_squads(conn, tenant, &ids, today, today, Known::Now)? {
        if let Some(at) = places.get(&member.content.squad_id) {
            let group = &mut groups[*at];
            group.members.insert(member.content.athlete_id);
            group.changed_at = group.changed_at.max(member.version.received_at);
        }
    }
    Ok(groups)
}

/// The one squad of an id.
///
/// # Errors
/// 404.
pub fn one(conn: &mut Conn, tenant: Tenant, today: Date, id: SquadId) -> Result<Group, Problem> {
    let found = find(conn, tenant, &Narrow::Id(id.to_string()))?;
    let mut found = filled(conn, tenant, today, found)?;
    found.pop().ok_or_else(Problem::not_found)
}

impl Group {
    /// What of it the directory may set.
    pub fn settable(&self) -> Map<String, Value> {
        let mut found = Map::new();
        found.insert("displayName".to_owned(), self.squad.name.as_str().into());
        if let Some(key) = &self.squad.external_id {
            found.insert("externalId".to_owned(), key.as_str().into());
        }
        if !self.members.is_empty() {
            let members = self.members.iter();
            let members = members.map(|id| json!({ "value": id.to_string() }));
            found.insert("members".to_owned(), members.collect());
        }
        found
    }

    /// The group; `base` is where the club's directory is.
    pub fn resource(&self, base: &str) -> Map<String, Value> {
        let mut found = self.settable();
        found.insert("schemas".to_owned(), json!([GROUP.schema.id]));
        found.insert("id".to_owned(), self.squad.squad_id.to_string().into());
        let members = found.get_mut("members").and_then(Value::as_array_mut);
        for member in members.into_iter().flatten() {
            let at = member["value"]
                .as_str()
                .map(|id| format!("{base}/Users/{id}"));
            member["$ref"] = at.into();
            member["type"] = "User".into();
        }
        let meta = json!({
            "resourceType": GROUP.name,
            "location": self.location(base),
            "version": tag::of(&found),
            "created": self.squad.created_at.to_string(),
            "lastModified": self.changed_at.to_string(),
        });
        found.insert("meta".to_owned(), meta);
        found
    }

    /// Where it is.
    pub fn location(&self, base: &str) -> String {
        format!("{base}/Groups/{}", self.squad.squad_id)
    }
}
