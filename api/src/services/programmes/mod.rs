//! Programmes: stored in versions, assigned to squads and athletes, and read by whom they are for.
//!
//! `input`, `item` and `way` are what is sent, and the form in which it is kept; `csv_rows`, `places` and `table` the same as a table;
//! `answer` is what is answered.

pub mod adherence;
mod answer;
pub mod assigned;
pub mod assignments;
mod changes;
mod csv_rows;
mod input;
mod item;
mod named;
mod places;
mod table;
mod way;

pub use answer::{NOTE, ProgrammeAnswer, ProgrammeItem, ProgrammeSession, ProgrammeSummary};
pub use csv_rows::MOST_ROWS;
pub use input::{MOST_ITEMS, MOST_WEEKS, ProgrammeInput, weekday_name};
pub use item::ExtentBody;
pub use named::{NamedProgramme, unsigned_faults};
pub use table::COLUMNS;
pub use way::WayBody;

use plimsoll_domain::programme::Programme;
use serde::Deserialize;

use super::exercises::ClubCatalogue;
use super::fields::Faults;
use super::write::Change;
use super::zones;
use crate::error::{Code, Problem};
use crate::ids::ProgrammeId;
use crate::store::programmes::{self, StoredProgramme};
use crate::store::{self, Conn, Known, Tenant, Versioned, programme_assignments};

/// Programmes that a club may have at a time.
pub const MOST: usize = 500;

/// A programme as it was sent: as JSON, or as a table.
pub struct Sent {
    programme: ProgrammeInput,
    places: Option<places::Places>,
}

impl Sent {
    /// What was sent as JSON.
    pub fn from_json(programme: ProgrammeInput) -> Self {
        Self {
            programme,
            places: None,
        }
    }

    /// What was sent as a table.
    ///
    /// # Errors
    /// 400 where it is no CSV; 422 by line and column.
    pub fn from_csv(bytes: &[u8]) -> Result<Self, Problem> {
        let csv_rows::Read { programme, places } = csv_rows::read(bytes)?;
        Ok(Self {
            programme,
            places: Some(places),
        })
    }

    fn check(&self, change: &mut Change<'_>) -> Result<Programme, Problem> {
        let tenant = change.tenant();
        let catalogue = ClubCatalogue::read(change.conn, tenant, Known::Now)?.catalogue;
        let mut faults = Faults::default();
        let checked = self.programme.check(Some(&catalogue), &mut faults);
        faults.settle(checked).map_err(|mut problem| {
            if let Some(places) = &self.places {
                let errors = problem.errors.into_iter();
                problem.errors = errors.map(|fault| places.by_line(fault)).collect();
            }
            problem
        })
    }
}

/// A programme in one of its versions.
#[derive(Debug, Clone)]
pub struct ReadProgramme {
    /// Its id.
    pub id: ProgrammeId,
    /// What is in it.
    pub programme: Programme,
    /// Which version, and when it came.
    pub version: store::Version,
}

impl ReadProgramme {
    /// As JSON.
    pub fn answer(&self) -> ProgrammeAnswer {
        ProgrammeAnswer::new(self.id, &self.programme, &self.version)
    }

    /// As a table.
    pub fn table(&self) -> Vec<u8> {
        table::write(&self.programme)
    }

    fn of(stored: Versioned<StoredProgramme>) -> Result<Self, Problem> {
        let input = ProgrammeInput::deserialize(&stored.content.content);
        let input = input.map_err(|error| Problem::internal(&error))?;
        let programme = input.check(None, &mut Faults::default());
        let defect = || Problem::internal(&"a stored programme cannot be read");
        Ok(Self {
            id: stored.content.programme_id,
            programme: programme.ok_or_else(defect)?,
            version: stored.version,
        })
    }
}

/// Stores a new programme.
///
/// # Errors
/// 409 where the club has too many; 422 with every fault.
pub fn insert(
    change: &mut Change<'_>,
    id: ProgrammeId,
    sent: &Sent,
) -> Result<ReadProgramme, Problem> {
    let tenant = change.tenant();
    let there = programmes::count(change.conn, tenant)?;
    if usize::try_from(there).is_ok_and(|there| there >= MOST) {
        let detail = format!("The club has {MOST} programmes: remove one first.");
        return Err(Problem::new(Code::TooManyProgrammes, detail));
    }
    let content = content(id, &sent.check(change)?)?;
    change.store_with(|conn, tenant, moment, author| {
        programmes::insert(conn, tenant, moment, author, &[content])
    })?;
    current(change.conn, tenant, id)
}

/// Gives a programme a further version, or brings a removed one back; the same content changes nothing. Earlier versions stay readable,
/// and who was assigned one goes on with it.
///
/// # Errors
/// 422 with every fault.
pub fn replace(
    change: &mut Change<'_>,
    before: Versioned<StoredProgramme>,
    sent: &Sent,
) -> Result<ReadProgramme, Problem> {
    let (tenant, id) = (change.tenant(), before.content.programme_id);
    let content = content(id, &sent.check(change)?)?;
    if content == before.content && !before.version.deleted {
        return ReadProgramme::of(before);
    }
    let next = store::Change {
        replaces: before.version.number,
        content,
        deleted: false,
    };
    change.store_with(|conn, tenant, moment, author| {
        programmes::supersede(conn, tenant, moment, author, &[next])
    })?;
    current(change.conn, tenant, id)
}

/// Removes a programme; its versions stay for what was assigned before.
///
/// # Errors
/// 409 while somebody does it, or is to.
pub fn remove(change: &mut Change<'_>, before: Versioned<StoredProgramme>) -> Result<(), Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let id = before.content.programme_id;
    let assigned = programme_assignments::of_programme(change.conn, tenant, id, today)?;
    if let Some(one) = assigned.iter().map(|one| one.content.until_date).max() {
        let detail = format!("It is assigned until {one}: take the assignments back first.");
        return Err(Problem::new(Code::ProgrammeAssigned, detail));
    }
    let tombstone = store::Change::tombstone(before);
    Ok(change.store_with(|conn, tenant, moment, author| {
        programmes::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

/// What stands under an id, undeleted; 404 where nothing does.
pub fn standing(
    conn: &mut Conn,
    tenant: Tenant,
    id: ProgrammeId,
) -> Result<Versioned<StoredProgramme>, Problem> {
    let found = programmes::current(conn, tenant, id)?;
    let found = found.filter(|one| !one.version.deleted);
    found.ok_or_else(Problem::not_found)
}

/// A programme in its current version.
///
/// # Errors
/// 404.
pub fn current(conn: &mut Conn, tenant: Tenant, id: ProgrammeId) -> Result<ReadProgramme, Problem> {
    ReadProgramme::of(standing(conn, tenant, id)?)
}

/// A programme in one of its versions, or the one that stood, in a state of knowledge; 404 where it was removed by then, or had no such
/// version yet.
pub fn in_version(
    conn: &mut Conn,
    tenant: Tenant,
    id: ProgrammeId,
    (version, known): (Option<i32>, Known),
) -> Result<ReadProgramme, Problem> {
    let standing = programmes::known(conn, tenant, id, known)?.ok_or_else(Problem::not_found)?;
    let Some(number) = version else {
        return ReadProgramme::of(standing);
    };
    let found = programmes::in_versions(conn, tenant, &[(id, number)])?;
    let was_there = |one: &Versioned<StoredProgramme>| {
        !one.version.deleted && one.version.number <= standing.version.number
    };
    let found = found.into_iter().find(was_there);
    ReadProgramme::of(found.ok_or_else(Problem::not_found)?)
}

fn content(id: ProgrammeId, programme: &Programme) -> Result<StoredProgramme, Problem> {
    let kept = serde_json::to_value(ProgrammeInput::of(programme));
    Ok(StoredProgramme {
        programme_id: id,
        name: programme.name().to_owned(),
        weeks: programme.length().into(),
        content: kept.map_err(|error| Problem::internal(&error))?,
    })
}

#[cfg(test)]
mod tests;
