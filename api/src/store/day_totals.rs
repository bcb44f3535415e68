//! Day totals: what is known now of an athlete's day, by setting.
//!
//! Kept in the same transaction as the report that changes them, so that reading figures is one
//! range of rows.

use std::collections::BTreeMap;

use diesel::prelude::*;
use diesel::upsert::excluded;
use jiff::civil::Date;
use plimsoll_domain::Setting;

use super::backend::{batches, each_backend};
use super::days::DaySet;
use super::prepared::prepared;
use super::schema::day_totals;
use super::types::Sql;
use super::who::{Who, of_whom};
use super::{Conn, StoreError, Tenant};
use crate::ids::AthleteId;

/// What one setting adds to one athlete's day. Loads are in half-AU.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = day_totals, treat_none_as_default_value = false)]
pub struct Totals {
    /// The load as logged.
    pub logged_half: i64,
    /// The least it can be.
    pub low_half: i64,
    /// The most it can be.
    pub high_half: i64,
    /// Minutes logged.
    pub minutes: i32,
    /// Sessions logged.
    pub sessions: i32,
    /// Sessions expected.
    pub expected: i32,
    /// Expected sessions that nobody logged.
    pub unlogged: i32,
}

/// A stored row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Queryable)]
pub struct DayTotal {
    /// Whose day.
    pub athlete_id: AthleteId,
    /// Which day.
    #[diesel(deserialize_as = Sql<Date>)]
    pub date: Date,
    /// In which setting.
    #[diesel(deserialize_as = Sql<Setting>)]
    pub setting: Setting,
    /// What it adds.
    pub totals: Totals,
}

/// Whole days to be stored: each day's settings, none of them for an empty day.
pub type Days = BTreeMap<(AthleteId, Date), BTreeMap<Setting, Totals>>;

/// The statement that inserts rows, or puts their figures in the place of those that are there.
macro_rules! upsert {
    ($rows:expr) => {
        diesel::insert_into(day_totals::table)
            .values($rows)
            .on_conflict((
                day_totals::club_id,
                day_totals::athlete_id,
                day_totals::date,
                day_totals::setting,
            ))
            .do_update()
            .set((
                day_totals::logged_half.eq(excluded(day_totals::logged_half)),
                day_totals::low_half.eq(excluded(day_totals::low_half)),
                day_totals::high_half.eq(excluded(day_totals::high_half)),
                day_totals::minutes.eq(excluded(day_totals::minutes)),
                day_totals::sessions.eq(excluded(day_totals::sessions)),
                day_totals::expected.eq(excluded(day_totals::expected)),
                day_totals::unlogged.eq(excluded(day_totals::unlogged)),
            ))
    };
}

/// Replaces whole days: afterwards they hold these settings and no others. What is there already is
/// not written again.
///
/// # Errors
/// `Reference` when an athlete is not there.
pub fn replace(conn: &mut Conn, tenant: Tenant, days: &Days) -> Result<(), StoreError> {
    let mut news = days.clone();
    for stored in on_days(conn, tenant, &days.keys().copied().collect())? {
        let day = news.get_mut(&(stored.athlete_id, stored.date));
        let Some(settings) = day else { continue };
        match settings.get(&stored.setting) {
            None => remove(conn, tenant, &stored)?,
            Some(totals) if *totals == stored.totals => {
                settings.remove(&stored.setting);
            }
            Some(_) => {}
        }
    }
    upsert(conn, tenant, &news)
}

/// The totals of exactly these days.
///
/// # Errors
/// Those of the database.
pub fn on_days(
    conn: &mut Conn,
    tenant: Tenant,
    days: &DaySet,
) -> Result<Vec<DayTotal>, StoreError> {
    let day_of = |row: &DayTotal| (row.athlete_id, row.date);
    days.read(day_of, |who, from, to| {
        in_dates(conn, tenant, who, from, to)
    })
}

fn remove(conn: &mut Conn, tenant: Tenant, row: &DayTotal) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::delete(day_totals::table)
        .filter(day_totals::club_id.eq(tenant.club_id()))
        .filter(day_totals::athlete_id.eq(row.athlete_id))
        .filter(day_totals::date.eq(Sql(row.date)))
        .filter(day_totals::setting.eq(Sql(row.setting)))
        .execute(c))?;
    Ok(())
}

/// Stores these settings of days, new or in the place of what they held; other settings stay.
///
/// # Errors
/// `Reference` when an athlete is not there.
pub fn upsert(conn: &mut Conn, tenant: Tenant, days: &Days) -> Result<(), StoreError> {
    let rows = days.iter().flat_map(|((athlete_id, date), settings)| {
        settings.iter().map(move |(setting, totals)| {
            (
                day_totals::club_id.eq(tenant.club_id()),
                day_totals::athlete_id.eq(*athlete_id),
                day_totals::date.eq(Sql(*date)),
                day_totals::setting.eq(Sql(*setting)),
                *totals,
            )
        })
    });
    for batch in batches(rows) {
        match <[_; 1]>::try_from(batch) {
            Ok([row]) => {
                let one = upsert!(row).returning(day_totals::sessions);
                let _: Vec<i32> = each_backend!(conn, |c| prepared(one).load(c))?;
            }
            Err(rows) => {
                each_backend!(conn, |c| upsert!(rows).execute(c))?;
            }
        }
    }
    Ok(())
}

/// The totals of `from..=to`, by athlete, date and setting.
///
/// # Errors
/// Those of the database.
pub fn in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    from: Date,
    to: Date,
) -> Result<Vec<DayTotal>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = day_totals::table
                .filter(day_totals::club_id.eq(tenant.club_id()))
                .filter(day_totals::date.between(Sql(from), Sql(to)))
                .into_boxed();
            of_whom!(day_totals, query, tenant, who)
                .order((
                    day_totals::athlete_id,
                    day_totals::date,
                    day_totals::setting,
                ))
                .select((
                    day_totals::athlete_id,
                    day_totals::date,
                    day_totals::setting,
                    Totals::as_select(),
                ))
                .load(c)
        })
    })
}
