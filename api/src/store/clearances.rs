//! Clearance records: what a clinician decided. They are only added; a decision is withdrawn by another.

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;

use super::backend::each_backend;
use super::codes::Decision;
use super::schema::clearance_records;
use super::seal::{Kept, Private, for_sealing, sealed_row};
use super::types::Sql;
use super::who::{Who, of_whom};
use super::{Author, Conn, Known, Moment, StoreError, Tenant, club_keys};
use crate::ids::{AthleteId, ClearanceId, RestrictionId};

sealed_row! {
    /// A decision as a clinician gives it.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Clearance {
        /// Its id.
        pub clearance_id: ClearanceId,
        /// About whom.
        pub athlete_id: AthleteId,
        /// The restriction it is about.
        pub restriction_id: Option<RestrictionId>,
        /// What was decided.
        pub decision: Decision as Sql<Decision>,
        /// The clinician's name, from the licence on file.
        pub name: String,
        /// The licence on file.
        pub licence_type: String,
        /// When it was decided.
        pub decided_on: Date as Sql<Date>,
    }
    sealed {
        /// What it covers, in the clinician's words.
        pub scope: Private<String>,
        /// Where the signed document is kept.
        pub document_reference: Private<String>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = clearance_records, treat_none_as_default_value = false)]
    struct Row in clearance_records by clearance_id
}

/// A decision as it is on record.
#[derive(Debug, Clone, PartialEq, Eq, Queryable)]
pub struct ClearanceRecord<C = Clearance> {
    /// The decision.
    pub content: C,
    /// When the service received it.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
    /// Its place in the club's sequence of changes.
    pub seq: i64,
    /// Who sent it (the token's subject).
    pub author: String,
    /// In which role.
    pub acting_role: String,
}

/// Adds a decision.
///
/// # Errors
/// `Conflict` when the id is taken, `Reference` without the athlete.
#[expect(
    clippy::needless_pass_by_value,
    reason = "a decision is given away once it is on record"
)]
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    author: Author<'_>,
    clearance: Clearance,
) -> Result<(), StoreError> {
    let keys = for_sealing::<Row>(conn, tenant, [&clearance].into_iter())?;
    let row = (
        clearance_records::club_id.eq(tenant.club_id()),
        Row::seal(&clearance, &keys)?,
        clearance_records::received_at.eq(Sql(moment.at())),
        clearance_records::seq.eq(moment.next_seq()),
        clearance_records::author.eq(author.subject),
        clearance_records::acting_role.eq(author.acting_role),
    );
    each_backend!(conn, |c| diesel::insert_into(clearance_records::table)
        .values(row)
        .execute(c))?;
    Ok(())
}

macro_rules! columns {
    () => {
        (
            Row::as_select(),
            clearance_records::received_at,
            clearance_records::seq,
            clearance_records::author,
            clearance_records::acting_role,
        )
    };
}

fn opened(
    conn: &mut Conn,
    tenant: Tenant,
    found: Vec<ClearanceRecord<Row>>,
) -> Result<Vec<ClearanceRecord>, StoreError> {
    let newest = found.iter().filter_map(|one| one.content.newest_key());
    let keys = club_keys::with(conn, tenant, newest.max())?;
    let open = |one: ClearanceRecord<Row>| {
        Ok(ClearanceRecord {
            content: one.content.open(&keys)?,
            received_at: one.received_at,
            seq: one.seq,
            author: one.author,
            acting_role: one.acting_role,
        })
    };
    found.into_iter().map(open).collect()
}

/// The decision of an id.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    id: ClearanceId,
) -> Result<Option<ClearanceRecord>, StoreError> {
    let found = each_backend!(conn, |c| clearance_records::table
        .filter(clearance_records::club_id.eq(tenant.club_id()))
        .filter(clearance_records::clearance_id.eq(id))
        .select(columns!())
        .load(c))?;
    Ok(opened(conn, tenant, found)?.pop())
}

/// The decisions known then, by athlete and the day they were made.
///
/// # Errors
/// Those of the database.
pub fn known(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    state: Known,
) -> Result<Vec<ClearanceRecord>, StoreError> {
    let found = who.read(|who| {
        each_backend!(conn, |c| {
            let query = clearance_records::table
                .filter(clearance_records::club_id.eq(tenant.club_id()))
                .into_boxed();
            let mut query = of_whom!(clearance_records, query, tenant, who);
            if let Known::AsOf(instant) = state {
                query = query.filter(clearance_records::received_at.le(Sql(instant)));
            }
            query
                .order((
                    clearance_records::athlete_id,
                    clearance_records::decided_on,
                    clearance_records::seq,
                ))
                .select(columns!())
                .load(c)
        })
    })?;
    opened(conn, tenant, found)
}

/// A page of decisions by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    after: Option<ClearanceId>,
    limit: i64,
) -> Result<Vec<ClearanceRecord>, StoreError> {
    let found = each_backend!(conn, |c| {
        let query = clearance_records::table
            .filter(clearance_records::club_id.eq(tenant.club_id()))
            .into_boxed();
        let mut query = of_whom!(clearance_records, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(clearance_records::clearance_id.gt(after));
        }
        query
            .order(clearance_records::clearance_id)
            .limit(limit)
            .select(columns!())
            .load(c)
    })?;
    opened(conn, tenant, found)
}
