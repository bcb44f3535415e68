//! A roster as it is sent: rows of squads and rows of athletes, whatever they were written in.

use std::collections::BTreeSet;

use plimsoll_domain::roster::MOST_LINKS;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem, Problem};
use crate::web::{json, object};

/// Most rows of a call in JSON and CSV.
pub const MOST_ROWS: usize = 10_000;
/// Most bytes of a row in JSON; one with as many squads and guardians as it may have is shorter.
pub const MOST_ROW_BYTES: usize = 256 * 1024;

/// A squad of a roster.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"external_id": "u16-g", "name": "U16 girls"}))]
pub struct SquadRow {
    /// The roster's own key, 1 to 200 characters.
    #[schema(value_type = String)]
    pub external_id: Option<String>,
    /// Its name, 1 to 200 characters; needed for a new squad.
    pub name: Option<String>,
}

/// An athlete of a roster. What is left out stays as it is, or is assumed where she is new.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "external_id": "P-07", "display_name": "Runa Falk", "birth_date": "2011-03-14",
    "memberships": [{"squad_external_id": "u16-g", "from": "2026-08-03", "primary": true}],
    "guardians": [{"external_id": "G-11"}]}))]
pub struct AthleteRow {
    /// The roster's own key, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, required = true)]
    pub external_id: Option<String>,
    /// The name shown, or a code in its place; needed for a new athlete.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub display_name: Option<String>,
    /// Day of birth; an age of 5 to 100 years.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub birth_date: Option<String>,
    /// The first day of her record; for a new athlete that of her first membership is assumed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub joined_on: Option<String>,
    /// Her home zone, where it is not the club's.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "Atlantic/Faroe")]
    pub time_zone: Option<String>,
    /// active (assumed) or left: memberships end with the day before the import, history stays.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub status: Option<String>,
    /// Her squads, at most 50.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        deserialize_with = "object::some_at_most::<MOST_LINKS, _, _>"
    )]
    pub memberships: Option<Vec<MembershipRow>>,
    /// Her guardians, at most 50.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        deserialize_with = "object::some_at_most::<MOST_LINKS, _, _>"
    )]
    pub guardians: Option<Vec<GuardianRow>>,
}

/// A time in a squad.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MembershipRow {
    /// The squad, by the roster's own key.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, required = true)]
    pub squad_external_id: Option<String>,
    /// member (assumed), guest or call_up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// First day; that of the membership that is known, else the day of the import.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub from: Option<String>,
    /// Last day, once it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub to: Option<String>,
    /// Whether it is her main squad; assumed not to be.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub primary: Option<bool>,
    /// Whether it is over, whatever its last day was to be.
    #[serde(skip)]
    #[schema(ignore)]
    pub is_over: bool,
    /// The squad's name, in forms where it stands beside the membership.
    #[serde(skip)]
    #[schema(ignore)]
    pub squad_name: Option<String>,
}

/// A guardian of an athlete: the roster's own key, no name.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GuardianRow {
    /// The roster's own key of the guardian.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, required = true)]
    pub external_id: Option<String>,
    /// First day; that of the link that is known, else the day of the import.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub from: Option<String>,
    /// Last day, once it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub to: Option<String>,
}

/// A roster in JSON.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "squads": [{"external_id": "u16-g", "name": "U16 girls"}],
    "athletes": [{
        "external_id": "P-07", "display_name": "Runa Falk", "birth_date": "2011-03-14",
        "memberships": [{"squad_external_id": "u16-g", "from": "2026-08-03", "primary": true}],
        "guardians": [{"external_id": "G-11"}]}]}))]
pub struct RosterInput {
    /// Squads; those that are known need not be named.
    #[schema(value_type = Option<Vec<SquadRow>>)]
    #[serde(default, deserialize_with = "object::some_at_most::<MOST_ROWS, _, _>")]
    squads: Option<Vec<Box<RawValue>>>,
    /// Athletes; with the squads at most 10,000 rows.
    #[schema(value_type = Vec<AthleteRow>)]
    #[serde(deserialize_with = "object::at_most::<MOST_ROWS, _, _>")]
    athletes: Vec<Box<RawValue>>,
}

/// A row with its number, or what kept it from being read.
#[derive(Debug, Clone)]
pub struct Numbered<T> {
    /// From 1.
    pub row: usize,
    /// What it says.
    pub content: Result<T, FieldProblem>,
}

/// How the rows were written, which decides how their fields are named in problems.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Memberships and guardians are lists in an athlete.
    Nested,
    /// One of each stands in a line of a table.
    Table,
}

/// A roster as read.
#[derive(Debug, Clone)]
pub struct Sent {
    /// How it was written.
    pub form: Form,
    /// Squads.
    pub squads: Vec<Numbered<SquadRow>>,
    /// Athletes.
    pub athletes: Vec<Numbered<AthleteRow>>,
    /// External ids whose rows are about somebody only if an athlete has them.
    pub only_if_known: BTreeSet<String>,
}

/// Reads a roster in JSON.
///
/// # Errors
/// Where the document is not of that form; a row that is not an athlete or a squad comes back as such.
pub fn read_json(bytes: &[u8]) -> Result<Sent, Problem> {
    let input: RosterInput = json::from_slice(bytes)?;
    let squads = input.squads.unwrap_or_default();
    let rows = squads.len() + input.athletes.len();
    if rows > MOST_ROWS {
        return Err(too_many());
    }
    Ok(Sent {
        form: Form::Nested,
        squads: numbered(&squads),
        athletes: numbered(&input.athletes),
        only_if_known: BTreeSet::new(),
    })
}

/// The refusal of more rows than a call takes.
pub fn too_many() -> Problem {
    Problem::new(
        Code::BodyTooLarge,
        format!("More than {MOST_ROWS} rows; a call takes no more."),
    )
}

fn numbered<T: DeserializeOwned>(given: &[Box<RawValue>]) -> Vec<Numbered<T>> {
    let rows = given.iter().zip(1..);
    rows.map(|(given, row)| Numbered {
        row,
        content: read_row(given.get()),
    })
    .collect()
}

fn read_row<T: DeserializeOwned>(text: &str) -> Result<T, FieldProblem> {
    if text.len() > MOST_ROW_BYTES {
        let fault = FieldProblem::new("", Code::OutOfRange, format!("{} bytes", text.len()));
        return Err(fault.allowed(format!("at most {MOST_ROW_BYTES} bytes for a row")));
    }
    json::row_from_slice(text.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lists_are_refused_without_being_kept() {
        for list in ["athletes", "squads"] {
            let zeros = "0,".repeat(MOST_ROWS);
            let text = format!(r#"{{"athletes": [], "{list}": [{zeros}0]}}"#);
            let text = text.replace(r#""athletes": [], "athletes""#, r#""athletes""#);
            let problem = read_json(text.as_bytes()).unwrap_err();
            assert_eq!(problem.code, Code::BodyTooLarge, "{list}");
        }
        for (list, kept) in [(50, 50), (51, 51), (52, 51), (5_000, 51)] {
            let links = vec!["{}"; list].join(",");
            let text = format!(r#"{{"athletes": [{{"memberships": [{links}]}}]}}"#);
            let sent = read_json(text.as_bytes()).unwrap();
            let athlete = sent.athletes[0].content.as_ref().unwrap();
            let found = athlete.memberships.as_ref().map(Vec::len);
            assert_eq!(found, Some(kept), "{list}");
        }
    }

    #[test]
    fn a_row_of_many_bytes_is_refused_by_itself() {
        let long = "0,".repeat(MOST_ROW_BYTES);
        let text = format!(r#"{{"athletes": [{{"memberships": [{long}0]}}, {{}}]}}"#);
        let sent = read_json(text.as_bytes()).unwrap();
        let fault = sent.athletes[0].content.as_ref().unwrap_err();
        assert_eq!(fault.code, Code::OutOfRange);
        assert!(sent.athletes[1].content.is_ok());
    }
}
