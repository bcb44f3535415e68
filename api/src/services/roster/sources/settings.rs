//! What is asked of a roster app, and where in its answer our fields are: as it is sent and stored, and checked.

use plimsoll_domain::roster::Mode;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::paging::{Paging, PagingInput};
use super::pointer::Pointer;
use crate::error::{FieldProblem, Problem};
use crate::services::fields::{self, Faults};
use crate::store::roster_sources::StoredRosterSource;

/// Where the people are, and where in one of them our fields are. All but `list` and `total` are relative to one person.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PeoplePointers {
    /// The list of people in the document.
    #[schema(value_type = String)]
    pub list: Option<String>,
    /// The number of people in all, where the document says it: a pull that found another number is a part of a roster, and is not taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub total: Option<String>,
    /// The app's own key: a text, or a whole number.
    #[schema(value_type = String)]
    pub external_id: Option<String>,
    /// The name shown; needed for a new athlete.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub display_name: Option<String>,
    /// Day of birth, as YYYY-MM-DD.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub birth_date: Option<String>,
    /// The first day of her record.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joined_on: Option<String>,
    /// Her home zone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_zone: Option<String>,
    /// active or left.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub status: Option<String>,
    /// Her squads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub memberships: Option<MembershipPointers>,
    /// Her guardians.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub guardians: Option<GuardianPointers>,
}

/// Where in a person her squads are, and where in one of these our fields are.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MembershipPointers {
    /// The list of her squads, or one alone.
    #[schema(value_type = String)]
    pub list: Option<String>,
    /// The squad's key; empty where the list holds keys.
    #[schema(value_type = String)]
    pub squad_external_id: Option<String>,
    /// The squad's name, where it stands here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub squad_name: Option<String>,
    /// member, guest or `call_up`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// First day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Last day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// Whether it is her main squad.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub primary: Option<String>,
}

/// Where in a person her guardians are, and where in one of these our fields are.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GuardianPointers {
    /// The list of her guardians, or one alone.
    #[schema(value_type = String)]
    pub list: Option<String>,
    /// The guardian's key; empty where the list holds keys.
    #[schema(value_type = String)]
    pub external_id: Option<String>,
    /// First day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Last day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
}

/// Where the squads are, where the document has a list of its own of them.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SquadPointers {
    /// The list of squads in the document.
    #[schema(value_type = String)]
    pub list: Option<String>,
    /// The app's own key of one.
    #[schema(value_type = String)]
    pub external_id: Option<String>,
    /// The name of one; needed for a new squad.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
}

/// The settings that the database keeps as one document.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// full or delta.
    pub mode: Option<String>,
    /// From page to page.
    pub paging: Option<PagingInput>,
    /// The people.
    pub people: Option<PeoplePointers>,
    /// The squads.
    pub squads: Option<SquadPointers>,
}

/// Settings that were checked.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Whether a roster names everybody.
    pub mode: Mode,
    /// From page to page.
    pub paging: Paging,
    /// The people.
    pub people: People,
    /// The squads, where they have a list of their own.
    pub squads: Option<Squads>,
}

/// A field of ours, and where it is in an element of theirs.
#[derive(Debug, Clone)]
pub struct Field {
    /// Our name of it.
    pub name: &'static str,
    /// Where it is.
    pub pointer: Pointer,
}

/// Where people are.
#[derive(Debug, Clone)]
pub struct People {
    /// The list.
    pub list: Pointer,
    /// Their number.
    pub total: Option<Pointer>,
    /// The fields of one.
    pub fields: Vec<Field>,
    /// Her squads: the list, and the fields of one.
    pub memberships: Option<Links>,
    /// Her guardians: the list, and the fields of one.
    pub guardians: Option<Links>,
}

/// A list within a person.
#[derive(Debug, Clone)]
pub struct Links {
    /// The list.
    pub list: Pointer,
    /// The fields of one.
    pub fields: Vec<Field>,
}

/// Where squads are.
#[derive(Debug, Clone)]
pub struct Squads {
    /// The list.
    pub list: Pointer,
    /// The fields of one.
    pub fields: Vec<Field>,
}

impl Settings {
    /// Those of a stored source.
    pub fn of(stored: &StoredRosterSource) -> Result<Self, Problem> {
        serde_json::from_value(stored.settings.clone()).map_err(|error| Problem::internal(&error))
    }

    /// The checked form, with a fault for each field that is wrong.
    pub fn check(&self, faults: &mut Faults) -> Option<Plan> {
        let codes = || fields::list([Mode::Full, Mode::Delta].iter().map(|mode| mode.code()));
        let mode = fields::coded("/mode", self.mode.as_deref(), Mode::parse, codes);
        let mode = faults.take(mode);
        let paging = Paging::read(self.paging.as_ref(), faults);
        let people = match &self.people {
            Some(people) => people.check(faults),
            None => {
                faults.extend([FieldProblem::missing("/people", "where the people are")]);
                None
            }
        };
        let squads = self.squads.as_ref().map(|squads| squads.check(faults));
        Some(Plan {
            mode: mode?,
            paging: paging?,
            people: people?,
            squads: match squads {
                Some(squads) => Some(squads?),
                None => None,
            },
        })
    }

    /// The checked form of what was checked before it was stored.
    pub fn plan(&self) -> Result<Plan, Problem> {
        let mut faults = Faults::default();
        let plan = self.check(&mut faults);
        faults.settle(plan)
    }
}

impl PeoplePointers {
    fn check(&self, faults: &mut Faults) -> Option<People> {
        let at = "/people";
        let list = needed(at, "list", self.list.as_deref(), faults);
        let total = some(at, "total", self.total.as_deref(), faults);
        let fields = all(
            at,
            &["external_id"],
            &[
                ("external_id", &self.external_id),
                ("display_name", &self.display_name),
                ("birth_date", &self.birth_date),
                ("joined_on", &self.joined_on),
                ("time_zone", &self.time_zone),
                ("status", &self.status),
            ],
            faults,
        );
        let memberships = self.memberships.as_ref().map(|one| one.check(faults));
        let guardians = self.guardians.as_ref().map(|one| one.check(faults));
        Some(People {
            list: list?,
            total: total.map(|field| field.pointer),
            fields: fields?,
            memberships: memberships.flatten(),
            guardians: guardians.flatten(),
        })
    }
}

impl MembershipPointers {
    fn check(&self, faults: &mut Faults) -> Option<Links> {
        let at = "/people/memberships";
        let list = needed(at, "list", self.list.as_deref(), faults);
        let fields = all(
            at,
            &["squad_external_id"],
            &[
                ("squad_external_id", &self.squad_external_id),
                ("squad_name", &self.squad_name),
                ("role", &self.role),
                ("from", &self.from),
                ("to", &self.to),
                ("primary", &self.primary),
            ],
            faults,
        );
        Some(Links {
            list: list?,
            fields: fields?,
        })
    }
}

impl GuardianPointers {
    fn check(&self, faults: &mut Faults) -> Option<Links> {
        let at = "/people/guardians";
        let list = needed(at, "list", self.list.as_deref(), faults);
        let fields = all(
            at,
            &["external_id"],
            &[
                ("external_id", &self.external_id),
                ("from", &self.from),
                ("to", &self.to),
            ],
            faults,
        );
        Some(Links {
            list: list?,
            fields: fields?,
        })
    }
}

impl SquadPointers {
    fn check(&self, faults: &mut Faults) -> Option<Squads> {
        let at = "/squads";
        let list = needed(at, "list", self.list.as_deref(), faults);
        let fields = all(
            at,
            &["external_id"],
            &[("external_id", &self.external_id), ("name", &self.name)],
            faults,
        );
        Some(Squads {
            list: list?,
            fields: fields?,
        })
    }
}

/// A pointer that has to be there.
fn needed(at: &str, name: &str, given: Option<&str>, faults: &mut Faults) -> Option<Pointer> {
    let field = format!("{at}/{name}");
    let given = given.ok_or_else(|| FieldProblem::missing(&field, "a JSON Pointer"));
    let given = faults.take(given)?;
    faults.take(Pointer::read(&field, given))
}

fn some(at: &str, name: &'static str, given: Option<&str>, faults: &mut Faults) -> Option<Field> {
    let pointer = Pointer::read(&format!("{at}/{name}"), given?);
    let pointer = faults.take(pointer)?;
    Some(Field { name, pointer })
}

/// The fields that are named; `None` where one that is needed is not.
fn all(
    at: &str,
    needs: &[&str],
    fields: &[(&'static str, &Option<String>)],
    faults: &mut Faults,
) -> Option<Vec<Field>> {
    let missing = fields
        .iter()
        .filter(|(name, given)| needs.contains(name) && given.is_none());
    let missing: Vec<FieldProblem> = missing
        .map(|(name, _)| FieldProblem::missing(format!("{at}/{name}"), "a JSON Pointer"))
        .collect();
    let is_whole = missing.is_empty();
    faults.extend(missing);
    let found = fields
        .iter()
        .filter_map(|(name, given)| some(at, name, given.as_deref(), faults));
    let found = found.collect();
    is_whole.then_some(found)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn what_is_needed_is_named_and_a_whole_one_stays_what_it_was() {
        let empty =
            json!({ "people": { "memberships": {}, "guardians": { "list": "x" } }, "squads": {} });
        let settings: Settings = serde_json::from_value(empty).unwrap();
        let mut faults = Faults::default();
        assert!(settings.check(&mut faults).is_none());
        let pointers: Vec<_> = faults
            .into_vec()
            .into_iter()
            .map(|fault| fault.pointer)
            .collect();
        assert_eq!(
            pointers,
            [
                "/mode",
                "/people/list",
                "/people/external_id",
                "/people/memberships/list",
                "/people/memberships/squad_external_id",
                "/people/guardians/list",
                "/people/guardians/external_id",
                "/squads/list",
                "/squads/external_id",
            ]
        );
        let whole = json!({ "mode": "full", "paging": { "kind": "link_header" }, "squads": null,
            "people": { "list": "", "external_id": "/id", "memberships": { "list": "/teams", "squad_external_id": "" } } });
        let settings: Settings = serde_json::from_value(whole.clone()).unwrap();
        assert!(settings.plan().is_ok());
        assert_eq!(serde_json::to_value(&settings).unwrap(), whole);
    }
}
