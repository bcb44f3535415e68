//! What was erased, when and by whom: the proof without the data.

use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use super::backend::each_backend;
use super::codes::ErasureReason;
use super::schema::erasures;
use super::types::Sql;
use super::{Conn, Moment, StoreError, Tenant};
use crate::ids::{AthleteId, ClubId, ErasureId};

/// Unfinished erasures read at a time.
const MOST: i64 = 500;

/// An erasure.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = erasures, treat_none_as_default_value = false)]
pub struct Erasure {
    /// Its id.
    pub erasure_id: ErasureId,
    /// Whose records were erased: an id that means nothing any more.
    pub athlete_id: AthleteId,
    /// When.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub at: Timestamp,
    /// By whom: the token's subject.
    pub by_subject: String,
    /// In which role.
    pub acting_role: String,
    /// Why.
    #[diesel(serialize_as = Sql<ErasureReason>, deserialize_as = Sql<ErasureReason>)]
    pub reason: ErasureReason,
    /// How many rows of each table, an object.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub counts: Value,
    /// When it was written to the file outside the database.
    #[diesel(serialize_as = Sql<Option<Timestamp>>, deserialize_as = Sql<Option<Timestamp>>)]
    pub filed_at: Option<Timestamp>,
    /// When the database was made to forget the bytes too.
    #[diesel(serialize_as = Sql<Option<Timestamp>>, deserialize_as = Sql<Option<Timestamp>>)]
    pub cleaned_at: Option<Timestamp>,
}

/// Enters an erasure; one of the same id that is there is left as it is, but is to be cleaned up after once more.
///
/// # Errors
/// `Reference` without the club.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    erasure: &Erasure,
) -> Result<(), StoreError> {
    let seq = moment.next_seq();
    each_backend!(conn, |c| diesel::insert_into(erasures::table)
        .values((
            erasures::club_id.eq(tenant.club_id()),
            erasures::seq.eq(seq),
            erasure.clone()
        ))
        .on_conflict((erasures::club_id, erasures::erasure_id))
        .do_update()
        .set(erasures::cleaned_at.eq(Sql(erasure.cleaned_at)))
        .execute(c))?;
    Ok(())
}

/// A page of a club's erasures by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<ErasureId>,
    limit: i64,
) -> Result<Vec<Erasure>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = erasures::table
            .filter(erasures::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(erasures::erasure_id.gt(after));
        }
        query
            .order(erasures::erasure_id)
            .limit(limit)
            .select(Erasure::as_select())
            .load(c)
    })
}

/// Erasures of any club that are not written down outside or not cleaned up after, for the job: a function without a tenant.
///
/// # Errors
/// Those of the database.
pub fn unfinished(conn: &mut Conn) -> Result<Vec<(ClubId, Erasure)>, StoreError> {
    let is_open = erasures::filed_at
        .is_null()
        .or(erasures::cleaned_at.is_null());
    each_backend!(conn, |c| erasures::table
        .filter(is_open)
        .order((erasures::club_id, erasures::erasure_id))
        .limit(MOST)
        .select((erasures::club_id, Erasure::as_select()))
        .load(c))
}

/// Notes what was done after an erasure: when it was written down outside, and when it was cleaned up after.
///
/// # Errors
/// Those of the database.
pub fn finish(
    conn: &mut Conn,
    tenant: Tenant,
    erasure_id: ErasureId,
    (filed_at, cleaned_at): (Option<Timestamp>, Option<Timestamp>),
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(erasures::table)
        .filter(erasures::club_id.eq(tenant.club_id()))
        .filter(erasures::erasure_id.eq(erasure_id))
        .set((
            erasures::filed_at.eq(Sql(filed_at)),
            erasures::cleaned_at.eq(Sql(cleaned_at)),
        ))
        .execute(c))?;
    Ok(())
}
