//! A user as a directory sends her.

use serde_json::{Map, Value};

use crate::error::{FieldProblem, Problem};
use crate::scim::kept::{ROLES, ROSTER, USER};
use crate::scim::{Fault, canonical};
use crate::services::fields::{self, Faults};

/// What a directory says of somebody, read but for what the roster checks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sent {
    /// What it knows her by.
    pub user_name: String,
    /// Its key.
    pub external_id: Option<String>,
    /// Her name; none of who is a guardian and nothing else.
    pub display_name: Option<String>,
    /// Whether she is still there.
    pub active: bool,
    /// What she is in the club.
    pub roles: Vec<String>,
    /// Day of birth.
    pub birth_date: Option<String>,
    /// The first day of her record.
    pub joined_on: Option<String>,
    /// Her home zone.
    pub time_zone: Option<String>,
    /// The keys of her guardians.
    pub guardians: Vec<String>,
}

/// Whether these roles make somebody an athlete: a roster is of athletes, so who is nothing else is one.
pub fn is_athlete<'a>(roles: impl Iterator<Item = &'a str>) -> bool {
    let roles: Vec<&str> = roles.collect();
    roles.is_empty() || roles.contains(&"athlete")
}

/// A body in the names of the schemas, with a name taken from its parts where it is not said whole.
///
/// # Errors
/// What no schema has, and values of other types.
pub fn canonical(body: &Map<String, Value>) -> Result<Map<String, Value>, Fault> {
    let mut found = canonical::resource(body, &USER)?;
    if found.get("displayName").is_none_or(Value::is_null)
        && let Some(name) = name_of_parts(body)
    {
        found.insert("displayName".to_owned(), name.into());
    }
    Ok(found)
}

fn name_of_parts(body: &Map<String, Value>) -> Option<String> {
    let get = |parts: &Map<String, Value>, name: &str| {
        let mut parts = parts.iter();
        let (_, value) = parts.find(|(known, _)| known.eq_ignore_ascii_case(name))?;
        Some(value.clone())
    };
    let name = get(body, "name")?;
    let part = |part: &str| {
        let text = get(name.as_object()?, part)?;
        Some(text.as_str()?.trim().to_owned()).filter(|text| !text.is_empty())
    };
    let both = [part("givenName"), part("familyName")];
    let both: Vec<String> = both.into_iter().flatten().collect();
    part("formatted").or_else(|| (!both.is_empty()).then(|| both.join(" ")))
}

/// A body put over what is there: what is left out stays, null and an empty list take a value out.
pub fn put_over(mut there: Map<String, Value>, body: Map<String, Value>) -> Map<String, Value> {
    for (name, value) in body {
        match value {
            Value::Null => {
                there.remove(&name);
            }
            Value::Object(parts) if name == ROSTER => {
                let before = there.remove(&name);
                let before = before.and_then(|before| before.as_object().cloned());
                there.insert(name, put_over(before.unwrap_or_default(), parts).into());
            }
            value => {
                there.insert(name, value);
            }
        }
    }
    there
}

impl Sent {
    /// Reads what a user would be.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn read(resource: &Map<String, Value>) -> Result<Self, Problem> {
        let text = |name: &str| {
            resource
                .get(name)
                .and_then(Value::as_str)
                .map(str::to_owned)
        };
        let roster = resource.get(ROSTER).and_then(Value::as_object);
        let of_roster = |name: &str| {
            roster
                .and_then(|roster| roster.get(name)?.as_str())
                .map(str::to_owned)
        };
        let mut faults = Faults::default();
        let roles = faults.take(roles(&values(resource.get("roles"))));
        let user_name = faults.take(fields::line("/userName", text("userName").as_deref()));
        let external_id = text("externalId");
        let external_id = faults.take(fields::optional(
            "/externalId",
            external_id.as_deref(),
            fields::line,
        ));
        let display_name = match roles.as_deref() {
            Some([only]) if only == "guardian" => Some(None),
            _ => faults
                .take(fields::line("/displayName", text("displayName").as_deref()))
                .map(Some),
        };
        let sent = user_name
            .zip(display_name)
            .map(|(user_name, display_name)| Self {
                user_name,
                external_id: external_id.flatten(),
                display_name,
                active: resource
                    .get("active")
                    .and_then(Value::as_bool)
                    .unwrap_or(true),
                roles: roles.unwrap_or_default(),
                birth_date: of_roster("birthDate"),
                joined_on: of_roster("joinedOn"),
                time_zone: of_roster("timeZone"),
                guardians: values(roster.and_then(|roster| roster.get("guardians"))),
            });
        faults.settle(sent)
    }

    /// Whether she is an athlete, whether or not she is still there.
    pub fn is_athlete(&self) -> bool {
        is_athlete(self.roles.iter().map(String::as_str))
    }

    /// Whether she can belong to squads.
    pub fn is_there(&self) -> bool {
        self.active && self.is_athlete()
    }
}

fn values(list: Option<&Value>) -> Vec<String> {
    let items = list.and_then(Value::as_array).into_iter().flatten();
    items
        .filter_map(|item| item.get("value")?.as_str().map(str::to_owned))
        .collect()
}

/// The roles that there are, each once.
fn roles(given: &[String]) -> Result<Vec<String>, FieldProblem> {
    let mut found: Vec<String> = Vec::new();
    for text in given {
        let known = ROLES.iter().find(|role| role.eq_ignore_ascii_case(text));
        let list = || fields::list(ROLES.iter().copied());
        let role = fields::coded("/roles", Some(text), |_| known.copied(), list)?;
        if !found.iter().any(|known| known == role) {
            found.push(role.to_owned());
        }
    }
    Ok(found)
}
