//! What a flag is about.

use std::collections::BTreeMap;

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;

use crate::ids::{AthleteId, FlagId};
use crate::store::backend::{BATCH, batches, each_backend};
use crate::store::schema::flags;
use crate::store::types::Sql;
use crate::store::{Conn, Moment, StoreError, Tenant};

/// A flag's identity.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = flags)]
pub struct Flag {
    /// Its id.
    pub flag_id: FlagId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The rule's code.
    pub rule: String,
    /// The Monday of its week.
    #[diesel(deserialize_as = Sql<Date>)]
    pub monday: Date,
    /// When it was first raised.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub created_at: Timestamp,
}

/// A flag to be found, or made under this id.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewFlag {
    /// The id it gets when there is none yet.
    pub flag_id: FlagId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The rule's code.
    pub rule: String,
    /// The Monday of its week.
    pub monday: Date,
}

impl NewFlag {
    fn key(&self) -> (AthleteId, String, Date) {
        (self.athlete_id, self.rule.clone(), self.monday)
    }
}

/// Finds flags or makes them; answers them in the order asked for.
///
/// # Errors
/// `Reference` when an athlete is not there.
pub fn find_or_create(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &Moment,
    wanted: &[NewFlag],
) -> Result<Vec<Flag>, StoreError> {
    let distinct: BTreeMap<_, _> = wanted.iter().map(|flag| (flag.key(), flag)).collect();
    let rows = distinct.values().map(|flag| {
        (
            flags::club_id.eq(tenant.club_id()),
            flags::flag_id.eq(flag.flag_id),
            flags::athlete_id.eq(flag.athlete_id),
            flags::rule.eq(&flag.rule),
            flags::monday.eq(Sql(flag.monday)),
            flags::created_at.eq(Sql(moment.at())),
        )
    });
    for batch in batches(rows) {
        each_backend!(conn, |c| diesel::insert_into(flags::table)
            .values(batch)
            .on_conflict((
                flags::club_id,
                flags::athlete_id,
                flags::rule,
                flags::monday
            ))
            .do_nothing()
            .execute(c))?;
    }
    let found = find(conn, tenant, wanted)?;
    wanted
        .iter()
        .map(|flag| found.get(&flag.key()).cloned().ok_or(StoreError::NotFound))
        .collect()
}

/// The stored flags of these athletes and weeks, by identity.
fn find(
    conn: &mut Conn,
    tenant: Tenant,
    wanted: &[NewFlag],
) -> Result<BTreeMap<(AthleteId, String, Date), Flag>, StoreError> {
    let mut found = BTreeMap::new();
    for chunk in wanted.chunks(BATCH) {
        let athletes: Vec<_> = chunk.iter().map(|flag| flag.athlete_id).collect();
        let mondays: Vec<_> = chunk.iter().map(|flag| Sql(flag.monday)).collect();
        let stored: Vec<Flag> = each_backend!(conn, |c| flags::table
            .filter(flags::club_id.eq(tenant.club_id()))
            .filter(flags::athlete_id.eq_any(&athletes))
            .filter(flags::monday.eq_any(&mondays))
            .select(Flag::as_select())
            .load(c))?;
        found.extend(
            stored
                .into_iter()
                .map(|flag| ((flag.athlete_id, flag.rule.clone(), flag.monday), flag)),
        );
    }
    Ok(found)
}

/// How many flags of the weeks that begin in `from..=to` were ever raised, by Monday and rule.
///
/// # Errors
/// Those of the database.
pub fn raised_in_weeks(
    conn: &mut Conn,
    tenant: Tenant,
    from: Date,
    to: Date,
) -> Result<Vec<(Date, String, i64)>, StoreError> {
    let rows: Vec<(Sql<Date>, String, i64)> = each_backend!(conn, |c| flags::table
        .filter(flags::club_id.eq(tenant.club_id()))
        .filter(flags::monday.between(Sql(from), Sql(to)))
        .group_by((flags::monday, flags::rule))
        .order((flags::monday, flags::rule))
        .select((flags::monday, flags::rule, diesel::dsl::count_star()))
        .load(c))?;
    let rows = rows.into_iter();
    Ok(rows
        .map(|(Sql(monday), rule, count)| (monday, rule, count))
        .collect())
}
