//! Licences of clinicians on file: who may set restrictions and record clearances, and until when.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::write::Change;
use super::zones;
use crate::error::{Code, Problem};
use crate::ids::LicenceId;
use crate::store::licences::{self, Licence};
use crate::store::{self, Conn, Tenant, Versioned};

/// A licence as the club has seen it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"subject": "trainer-1", "name": "Vera Holm", "licence_type": "physiotherapist",
    "valid_until": "2027-06-30"}))]
pub struct LicenceInput {
    /// Whose it is: the subject of the tokens (`sub`), 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub subject: Option<String>,
    /// The clinician's name, as it stands on clearance records.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// What is licensed, in the words of local law.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub licence_type: Option<String>,
    /// The last day on which it holds, in the club's zone.
    #[schema(value_type = String, format = Date)]
    pub valid_until: Option<String>,
}

/// A licence as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"licence_id": "0199a1b2-6666-7e4f-8a5b-6c7d8e9f0a1b", "subject": "trainer-1",
    "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-06-30",
    "received_at": "2026-08-03T09:12:00Z", "version": 1}))]
pub struct LicenceAnswer {
    /// Its id.
    pub licence_id: LicenceId,
    /// Whose it is.
    pub subject: String,
    /// The clinician's name.
    pub name: String,
    /// What is licensed.
    pub licence_type: String,
    /// The last day on which it holds.
    #[schema(value_type = String, format = Date)]
    pub valid_until: Date,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Versioned<Licence>> for LicenceAnswer {
    fn from(licence: Versioned<Licence>) -> Self {
        let Versioned { content, version } = licence;
        Self {
            licence_id: content.licence_id,
            subject: content.subject,
            name: content.name,
            licence_type: content.licence_type,
            valid_until: content.valid_until,
            received_at: version.received_at,
            version: version.number,
        }
    }
}

/// Puts a licence on file.
pub fn enter(change: &mut Change<'_>, input: &LicenceInput) -> Result<LicenceAnswer, Problem> {
    let id = change.new_id();
    let licence = checked(id, input)?;
    change.store_with(|conn, tenant, moment, author| {
        licences::insert(conn, tenant, moment, author, &[licence])
    })?;
    let tenant = change.tenant();
    Ok(find(change.conn, tenant, id)?.into())
}

/// Takes a licence off the file; what was decided under it stays.
pub fn remove(change: &mut Change<'_>, current: Versioned<Licence>) -> Result<(), Problem> {
    let tombstone = store::Change::tombstone(current);
    Ok(change.store_with(|conn, tenant, moment, author| {
        licences::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

/// The undeleted licence of an id.
pub fn find(conn: &mut Conn, tenant: Tenant, id: LicenceId) -> Result<Versioned<Licence>, Problem> {
    let found = licences::current(conn, tenant, id)?;
    found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)
}

/// The caller's licence that is on file and holds today in the club's zone.
///
/// # Errors
/// 403 without one.
pub fn of_caller(change: &mut Change<'_>) -> Result<Licence, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let subject = &change.caller.principal.subject;
    let valid = licences::valid(change.conn, tenant, subject, today)?;
    let longest = valid.into_iter().next().map(|one| one.content);
    longest.ok_or_else(|| {
        let detail = "No licence of yours is on file with the club, or it has expired.";
        Problem::new(Code::LicenceNotOnFile, detail)
    })
}

fn checked(licence_id: LicenceId, input: &LicenceInput) -> Result<Licence, Problem> {
    let mut faults = Faults::default();
    let subject = faults.take(fields::line("/subject", input.subject.as_deref()));
    let name = faults.take(fields::line("/name", input.name.as_deref()));
    let licence_type = faults.take(fields::line("/licence_type", input.licence_type.as_deref()));
    let valid_until = faults.take(fields::date("/valid_until", input.valid_until.as_deref()));
    let licence = match (subject, name, licence_type, valid_until) {
        (Some(subject), Some(name), Some(licence_type), Some(valid_until)) => Some(Licence {
            licence_id,
            subject,
            name,
            licence_type,
            valid_until,
        }),
        _ => None,
    };
    faults.settle(licence)
}
