//! How a flag was judged, each time it was. What is hidden is not found here.

use std::collections::BTreeMap;

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::Value;

use super::identity::Flag;
use crate::ids::FlagId;
use crate::store::backend::{BATCH, each_backend, sorted_chunks};
use crate::store::codes::{Certainty, FlagState};
use crate::store::schema::{flag_versions, flags};
use crate::store::types::Sql;
use crate::store::versioned::known;
use crate::store::who::{Who, of_whom};
use crate::store::{Conn, Known, Moment, StoreError, Tenant};

/// One judgement of a flag.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = flag_versions, treat_none_as_default_value = false)]
pub struct FlagVersion {
    /// The flag.
    pub flag_id: FlagId,
    /// 1, 2, 3, …
    pub version: i32,
    /// Whether it stands.
    #[diesel(serialize_as = Sql<FlagState>, deserialize_as = Sql<FlagState>)]
    pub state: FlagState,
    /// How sure that is.
    #[diesel(serialize_as = Sql<Certainty>, deserialize_as = Sql<Certainty>)]
    pub certainty: Certainty,
    /// The policy it was judged by.
    pub policy_version: i32,
    /// What made it be judged.
    pub cause: String,
    /// The figures it was judged on.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub body: Value,
    /// When it was judged.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
    /// When it was judged again.
    #[diesel(serialize_as = Sql<Option<Timestamp>>, deserialize_as = Sql<Option<Timestamp>>)]
    pub superseded_at: Option<Timestamp>,
    /// Its place in the club's sequence.
    pub seq: i64,
}

/// A judgement to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewFlagVersion {
    /// The flag.
    pub flag_id: FlagId,
    /// Whether it stands.
    pub state: FlagState,
    /// How sure that is.
    pub certainty: Certainty,
    /// The policy it is judged by.
    pub policy_version: i32,
    /// What made it be judged.
    pub cause: String,
    /// The figures it is judged on.
    pub body: Value,
}

/// A flag and one judgement of it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable)]
pub struct Judged {
    /// What it is about.
    pub flag: Flag,
    /// How it was judged.
    pub version: FlagVersion,
}

/// Adds judgements, each closing the one before it, in batches. A flag may appear once.
///
/// # Errors
/// `Reference` when a flag is not there, `Conflict` when one appears twice.
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    judgements: &[NewFlagVersion],
) -> Result<(), StoreError> {
    for chunk in judgements.chunks(BATCH) {
        let keys: Vec<_> = chunk.iter().map(|judgement| judgement.flag_id).collect();
        let closed: Vec<(FlagId, i32)> =
            each_backend!(conn, |c| diesel::update(flag_versions::table)
                .filter(flag_versions::club_id.eq(tenant.club_id()))
                .filter(flag_versions::flag_id.eq_any(&keys))
                .filter(flag_versions::superseded_at.is_null())
                .set(flag_versions::superseded_at.eq(Sql(moment.at())))
                .returning((flag_versions::flag_id, flag_versions::version))
                .get_results(c))?;
        let closed: BTreeMap<_, _> = closed.into_iter().collect();
        let rows: Vec<_> = chunk
            .iter()
            .map(|judgement| {
                let last = closed.get(&judgement.flag_id).copied().unwrap_or(0);
                let row = next_version(judgement, last + 1, moment);
                (flag_versions::club_id.eq(tenant.club_id()), row)
            })
            .collect();
        each_backend!(conn, |c| diesel::insert_into(flag_versions::table)
            .values(rows)
            .execute(c))?;
    }
    Ok(())
}

fn next_version(judgement: &NewFlagVersion, version: i32, moment: &mut Moment) -> FlagVersion {
    FlagVersion {
        flag_id: judgement.flag_id,
        version,
        state: judgement.state,
        certainty: judgement.certainty,
        policy_version: judgement.policy_version,
        cause: judgement.cause.clone(),
        body: judgement.body.clone(),
        received_at: moment.at(),
        superseded_at: None,
        seq: moment.next_seq(),
    }
}

/// Flags with their versions.
macro_rules! judged {
    () => {
        flags::table.inner_join(
            flag_versions::table.on(flag_versions::club_id
                .eq(flags::club_id)
                .and(flag_versions::flag_id.eq(flags::flag_id))),
        )
    };
}

/// A flag as it stands.
///
/// # Errors
/// Those of the database.
pub fn current(
    conn: &mut Conn,
    tenant: Tenant,
    flag_id: FlagId,
) -> Result<Option<Judged>, StoreError> {
    each_backend!(conn, |c| judged!()
        .filter(flags::club_id.eq(tenant.club_id()))
        .filter(flags::flag_id.eq(flag_id))
        .filter(flag_versions::superseded_at.is_null())
        .filter(flag_versions::hidden_at.is_null())
        .select((Flag::as_select(), FlagVersion::as_select()))
        .first(c)
        .optional())
}

/// Every judgement of a flag, the first one first.
///
/// # Errors
/// Those of the database.
pub fn history(
    conn: &mut Conn,
    tenant: Tenant,
    flag_id: FlagId,
) -> Result<Vec<FlagVersion>, StoreError> {
    histories(conn, tenant, &[flag_id])
}

/// Every judgement of some flags, by flag, the first one first.
///
/// # Errors
/// Those of the database.
pub fn histories(
    conn: &mut Conn,
    tenant: Tenant,
    flags: &[FlagId],
) -> Result<Vec<FlagVersion>, StoreError> {
    let mut found = Vec::new();
    for chunk in sorted_chunks(flags) {
        found.append(&mut each_backend!(conn, |c| flag_versions::table
            .filter(flag_versions::club_id.eq(tenant.club_id()))
            .filter(flag_versions::flag_id.eq_any(&chunk))
            .filter(flag_versions::hidden_at.is_null())
            .order((flag_versions::flag_id, flag_versions::version))
            .select(FlagVersion::as_select())
            .load(c))?);
    }
    Ok(found)
}

/// The flags whose week begins in `from..=to`, withdrawn ones included, by athlete, week and rule.
///
/// # Errors
/// Those of the database.
pub fn in_weeks(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    from: Date,
    to: Date,
    state: Known,
) -> Result<Vec<Judged>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = judged!()
                .filter(flags::club_id.eq(tenant.club_id()))
                .filter(flags::monday.between(Sql(from), Sql(to)))
                .filter(flag_versions::hidden_at.is_null())
                .into_boxed();
            known!(flag_versions, of_whom!(flags, query, tenant, who), state)
                .order((flags::athlete_id, flags::monday, flags::rule))
                .select((Flag::as_select(), FlagVersion::as_select()))
                .load(c)
        })
    })
}

/// Which flags a list shows; `None` does not restrict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FlagFilter<'a> {
    /// Of whom.
    pub who: Who<'a>,
    /// Of the week that begins on this Monday.
    pub monday: Option<Date>,
    /// In this state.
    pub state: Option<FlagState>,
}

/// A page of flags as they stand, the newest week first and then by id, after the given key.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    filter: FlagFilter<'_>,
    after: Option<(Date, FlagId)>,
    limit: i64,
) -> Result<Vec<Judged>, StoreError> {
    each_backend!(conn, |c| {
        let query = judged!()
            .filter(flags::club_id.eq(tenant.club_id()))
            .filter(flag_versions::superseded_at.is_null())
            .filter(flag_versions::hidden_at.is_null())
            .into_boxed();
        let mut query = of_whom!(flags, query, tenant, filter.who);
        if let Some(monday) = filter.monday {
            query = query.filter(flags::monday.eq(Sql(monday)));
        }
        if let Some(state) = filter.state {
            query = query.filter(flag_versions::state.eq(Sql(state)));
        }
        if let Some((monday, flag_id)) = after {
            let same_week = flags::monday
                .eq(Sql(monday))
                .and(flags::flag_id.gt(flag_id));
            query = query.filter(flags::monday.lt(Sql(monday)).or(same_week));
        }
        query
            .order((flags::monday.desc(), flags::flag_id))
            .limit(limit)
            .select((Flag::as_select(), FlagVersion::as_select()))
            .load(c)
    })
}
