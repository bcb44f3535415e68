//! Somebody of the club, as a user.

use std::collections::BTreeMap;

use jiff::Timestamp;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::tag;
use crate::ids::{AthleteId, SquadId};
use crate::scim::kept::{ROSTER, USER};
use crate::store::Versioned;
use crate::store::athletes::Athlete;
use crate::store::directory::Entry;

/// Somebody of the club: an athlete, somebody whom a directory has named, or both.
#[derive(Debug, Clone)]
pub struct Person {
    /// Her id.
    pub id: Uuid,
    /// What a directory says of her, where one has named her.
    pub entry: Option<Versioned<Entry>>,
    /// What the roster says of her, if she is or was an athlete.
    pub athlete: Option<Versioned<Athlete>>,
    /// The keys of her guardians today.
    pub guardians: Vec<String>,
    /// Her squads today, with their names.
    pub squads: BTreeMap<SquadId, String>,
    /// When the roster first knew her.
    pub made_at: Option<Timestamp>,
}

impl Person {
    /// Somebody of whom nothing is known yet.
    pub fn new(id: Uuid) -> Self {
        Self {
            id,
            entry: None,
            athlete: None,
            guardians: Vec::new(),
            squads: BTreeMap::new(),
            made_at: None,
        }
    }

    fn said(&self) -> Option<&Entry> {
        self.entry.as_ref().map(|entry| &entry.content)
    }

    /// The athlete's id, if she is or was one.
    pub fn athlete_id(&self) -> Option<AthleteId> {
        self.athlete
            .as_ref()
            .map(|athlete| athlete.content.athlete_id)
    }

    /// What the directory knows her by; until one has named her, what the roster does.
    pub fn user_name(&self) -> String {
        let said = self.said().and_then(|entry| entry.user_name.clone());
        said.or_else(|| self.external_id().map(str::to_owned))
            .unwrap_or_else(|| self.id.to_string())
    }

    /// The key that the directory, or the roster, gave her.
    pub fn external_id(&self) -> Option<&str> {
        match &self.athlete {
            Some(athlete) => athlete.content.external_id.as_deref(),
            None => self.said()?.external_id.as_deref(),
        }
    }

    /// Her name, where one is kept.
    pub fn display_name(&self) -> Option<&str> {
        match &self.athlete {
            Some(athlete) => Some(&athlete.content.display_name),
            None => self.said()?.display_name.as_deref(),
        }
    }

    /// What she is in the club, as a directory says it.
    pub fn roles(&self) -> impl Iterator<Item = &str> {
        let said = self.said().map_or("", |entry| entry.roles.as_str());
        said.split(',').filter(|role| !role.is_empty())
    }

    /// Whether she is still there.
    pub fn is_active(&self) -> bool {
        self.said().is_none_or(|entry| entry.active)
    }

    /// Whether she is an athlete, whether or not she is still there.
    pub fn is_athlete(&self) -> bool {
        self.athlete.is_some() && super::sent::is_athlete(self.roles())
    }

    /// What of her the directory may set, in the names of the schemas.
    pub fn settable(&self) -> Map<String, Value> {
        let mut found = Map::new();
        found.insert("userName".to_owned(), self.user_name().into());
        found.insert("active".to_owned(), self.is_active().into());
        let mut put = |name: &str, value: Option<&str>| {
            value.map(|value| found.insert(name.to_owned(), value.into()));
        };
        put("externalId", self.external_id());
        put("displayName", self.display_name());
        let roles: Vec<Value> = self.roles().map(|role| json!({ "value": role })).collect();
        if !roles.is_empty() {
            found.insert("roles".to_owned(), roles.into());
        }
        if let Some(athlete) = self.athlete.as_ref().filter(|_| self.is_athlete()) {
            found.insert(ROSTER.to_owned(), self.of_roster(&athlete.content).into());
        }
        found
    }

    fn of_roster(&self, athlete: &Athlete) -> Map<String, Value> {
        let mut found = Map::new();
        found.insert("joinedOn".to_owned(), athlete.joined_on.to_string().into());
        if let Some(birth_date) = athlete.birth_date {
            found.insert("birthDate".to_owned(), birth_date.to_string().into());
        }
        if let Some(zone) = &athlete.time_zone {
            found.insert("timeZone".to_owned(), zone.as_str().into());
        }
        if !self.guardians.is_empty() {
            let guardians = self.guardians.iter().map(|key| json!({ "value": key }));
            found.insert("guardians".to_owned(), guardians.collect());
        }
        found
    }

    /// The user; `base` is where the club's directory is.
    pub fn resource(&self, base: &str) -> Map<String, Value> {
        let mut found = self.settable();
        let mut schemas = vec![USER.schema.id];
        schemas.extend(found.contains_key(ROSTER).then_some(ROSTER));
        found.insert("schemas".to_owned(), schemas.into());
        found.insert("id".to_owned(), self.id.to_string().into());
        if !self.squads.is_empty() {
            let group = |(id, name): (&SquadId, &String)| {
                let at = format!("{base}/Groups/{id}");
                json!({ "value": id.to_string(), "$ref": at, "display": name })
            };
            found.insert("groups".to_owned(), self.squads.iter().map(group).collect());
        }
        let mut meta = json!({
            "resourceType": USER.name, "location": self.location(base), "version": tag::of(&found),
        });
        if let Some(at) = self.made_at.or_else(|| made_at(self.id)) {
            meta["created"] = at.to_string().into();
        }
        if let Some(at) = self.changed_at() {
            meta["lastModified"] = at.to_string().into();
        }
        found.insert("meta".to_owned(), meta);
        found
    }

    /// Where she is.
    pub fn location(&self, base: &str) -> String {
        format!("{base}/Users/{}", self.id)
    }

    fn changed_at(&self) -> Option<Timestamp> {
        let said = self.entry.as_ref().map(|entry| entry.version.received_at);
        let known = self
            .athlete
            .as_ref()
            .map(|athlete| athlete.version.received_at);
        said.max(known)
    }
}

/// The instant at which an id of ours was made (RFC 9562, section 5.7).
fn made_at(id: Uuid) -> Option<Timestamp> {
    let (seconds, nanoseconds) = id.get_timestamp()?.to_unix();
    Timestamp::new(
        i64::try_from(seconds).ok()?,
        i32::try_from(nanoseconds).ok()?,
    )
    .ok()
}
