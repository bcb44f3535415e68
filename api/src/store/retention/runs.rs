//! What was erased on which night: one row a club and night, and the key decides.

use std::collections::BTreeMap;

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::RecordClass;
use serde_json::Value;

use crate::ids::ClubId;
use crate::store::backend::each_backend;
use crate::store::schema::retention_runs;
use crate::store::types::Sql;
use crate::store::{Conn, StoreError, Tenant};

/// Rows by class; classes of which there were none are left out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RowsByClass(pub BTreeMap<RecordClass, i64>);

/// A night's run.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = retention_runs, treat_none_as_default_value = false)]
pub struct RetentionRun {
    /// The date of its morning, in the club's zone.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub night: Date,
    /// When it was made.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub run_at: Timestamp,
    /// The version of the settings it was made by.
    pub settings_version: i32,
    /// Of how many athletes something was erased.
    pub athletes: i32,
    /// How much.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub erased: RowsByClass,
    /// When the database was made to forget the bytes; of a run that erased nothing, nothing.
    #[diesel(serialize_as = Sql<Option<Timestamp>>, deserialize_as = Sql<Option<Timestamp>>)]
    pub cleaned_at: Option<Timestamp>,
}

/// Notes a run.
///
/// # Errors
/// `Conflict` when the night has one, `Reference` without the club.
pub fn insert(conn: &mut Conn, tenant: Tenant, run: &RetentionRun) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::insert_into(retention_runs::table)
        .values((retention_runs::club_id.eq(tenant.club_id()), run.clone()))
        .execute(c))?;
    Ok(())
}

/// The run of the latest night.
///
/// # Errors
/// Those of the database.
pub fn latest(conn: &mut Conn, tenant: Tenant) -> Result<Option<RetentionRun>, StoreError> {
    each_backend!(conn, |c| retention_runs::table
        .filter(retention_runs::club_id.eq(tenant.club_id()))
        .order(retention_runs::night.desc())
        .select(RetentionRun::as_select())
        .first(c)
        .optional())
}

/// Runs of any club that erased something whose bytes the database may still hold, for the job: a function without a tenant.
///
/// # Errors
/// Those of the database.
pub fn unclean(conn: &mut Conn) -> Result<Vec<(ClubId, Date)>, StoreError> {
    let found: Vec<(ClubId, Sql<Date>)> = each_backend!(conn, |c| retention_runs::table
        .filter(retention_runs::cleaned_at.is_null())
        .filter(retention_runs::athletes.gt(0))
        .order((retention_runs::club_id, retention_runs::night))
        .select((retention_runs::club_id, retention_runs::night))
        .load(c))?;
    Ok(found
        .into_iter()
        .map(|(club, night)| (club, night.0))
        .collect())
}

/// Notes that the database was made to forget what a night's run erased.
///
/// # Errors
/// Those of the database.
pub fn cleaned(
    conn: &mut Conn,
    tenant: Tenant,
    night: Date,
    at: Timestamp,
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(retention_runs::table)
        .filter(retention_runs::club_id.eq(tenant.club_id()))
        .filter(retention_runs::night.eq(Sql(night)))
        .set(retention_runs::cleaned_at.eq(Sql(Some(at))))
        .execute(c))?;
    Ok(())
}
