//! What a source's first page comes to, told and not stored.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use super::fetch::{Failure, FirstPage};
use super::find;
use super::problem::{PullProblem, PullProblemAnswer};
use crate::error::{FieldProblem, Problem};
use crate::ids::RosterSourceId;
use crate::services::roster::check;
use crate::services::roster::input::AthleteRow;
use crate::services::zones;
use crate::store::roster_sources::StoredRosterSource;
use crate::store::{Conn, Tenant};

/// Most rows that are shown.
pub const MOST_SHOWN: usize = 5;

/// What a source's first page comes to.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "problem": null, "people": 60, "has_next": true,
    "rows": [{"row": 1, "athlete": {"external_id": "P-07", "display_name": "Runa Falk", "birth_date": "2011-03-14",
        "memberships": [{"squad_external_id": "u16-g"}]}, "problems": []}],
    "not_found": [{"field": "birth_date", "people": 2}]}))]
pub struct PullTestAnswer {
    /// Why there is nothing to show; null where there is.
    pub problem: Option<PullProblemAnswer>,
    /// People on the page.
    pub people: usize,
    /// Whether it names another page.
    pub has_next: bool,
    /// Its first rows, at most 5, as they would be taken.
    pub rows: Vec<PullTestRow>,
    /// Fields that are pointed to and were not there, and in how many people.
    pub not_found: Vec<NotFoundField>,
}

/// A row as it would be taken.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PullTestRow {
    /// Its number, from 1.
    pub row: usize,
    /// What is read of it; null where she, a squad or a guardian has no key, or a value is of the wrong type.
    pub athlete: Option<AthleteRow>,
    /// What is wrong with it by itself. Whether its squads are there is seen with …/pull?dry_run=true.
    pub problems: Vec<FieldProblem>,
}

/// A field that is pointed to and was not there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct NotFoundField {
    /// Our name of it.
    #[schema(value_type = String)]
    pub field: &'static str,
    /// In how many people.
    pub people: usize,
}

/// The source of an id, and the club's date, by which its rows are judged.
pub fn to_be_tried(
    conn: &mut Conn,
    tenant: Tenant,
    id: RosterSourceId,
    now: Timestamp,
) -> Result<(StoredRosterSource, Date), Problem> {
    Ok((
        find(conn, tenant, id)?,
        zones::club_date(conn, tenant, now)?,
    ))
}

/// Tells what the first page comes to on a date.
pub fn tell(fetched: Result<FirstPage, Failure>, today: Date) -> PullTestAnswer {
    let page = match fetched {
        Ok(page) => page,
        Err(failure) => return nothing(failure.problem),
    };
    let not_found = page.gathered.missing().iter();
    let not_found = not_found.map(|(field, people)| NotFoundField {
        field,
        people: *people,
    });
    let not_found = not_found.collect();
    let mut sent = page.gathered.sent();
    sent.athletes.truncate(MOST_SHOWN);
    let mut checked = check::check(&sent, today);
    let rows = sent.athletes.into_iter().map(|one| PullTestRow {
        row: one.row,
        athlete: one.content.ok().filter(has_keys),
        problems: checked.of_athletes.remove(&one.row).unwrap_or_default(),
    });
    PullTestAnswer {
        problem: None,
        people: page.people,
        has_next: page.has_next,
        rows: rows.collect(),
        not_found,
    }
}

fn has_keys(row: &AthleteRow) -> bool {
    let mut squads = row.memberships.iter().flatten();
    let mut guardians = row.guardians.iter().flatten();
    row.external_id.is_some()
        && squads.all(|one| one.squad_external_id.is_some())
        && guardians.all(|one| one.external_id.is_some())
}

fn nothing(problem: PullProblem) -> PullTestAnswer {
    PullTestAnswer {
        problem: Some(problem.answer()),
        people: 0,
        has_next: false,
        rows: Vec::new(),
        not_found: Vec::new(),
    }
}
