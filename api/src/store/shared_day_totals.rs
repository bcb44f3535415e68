//! Copies of what other organisations share of athletes' days. A change appends the next copy and closes the one before, so that
//! what was known when can be told; the end of consent removes them all.

use diesel::prelude::*;
use jiff::civil::Date;

use super::backend::{batches, each_backend};
use super::schema::shared_day_totals;
use super::types::Sql;
use super::versioned::{Known, known};
use super::who::{Who, of_whom};
use super::{Conn, Moment, StoreError, Tenant};
use crate::ids::{AthleteId, LinkId};

/// What one organisation shares of one athlete's day. Nothing else leaves it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = shared_day_totals, treat_none_as_default_value = false)]
pub struct SharedTotal {
    /// By which link.
    pub link_id: LinkId,
    /// Whose day, as this club knows her.
    pub athlete_id: AthleteId,
    /// Which day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub date: Date,
    /// The load, in half-AU.
    pub load_half: i64,
    /// The minutes.
    pub minutes: i32,
}

/// Appends copies, which close those of the same days, and closes the copies of `gone`.
///
/// # Errors
/// `Reference` without the link.
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    link_id: LinkId,
    (copies, gone): (&[SharedTotal], &[Date]),
) -> Result<(), StoreError> {
    let days = copies
        .iter()
        .map(|copy| copy.date)
        .chain(gone.iter().copied());
    for batch in batches(days.map(Sql)) {
        each_backend!(conn, |c| diesel::update(shared_day_totals::table)
            .filter(shared_day_totals::club_id.eq(tenant.club_id()))
            .filter(shared_day_totals::link_id.eq(link_id))
            .filter(shared_day_totals::date.eq_any(&batch))
            .filter(shared_day_totals::superseded_at.is_null())
            .set(shared_day_totals::superseded_at.eq(Sql(moment.at())))
            .execute(c))?;
    }
    let rows = copies.iter().map(|copy| {
        (
            shared_day_totals::club_id.eq(tenant.club_id()),
            *copy,
            shared_day_totals::received_at.eq(Sql(moment.at())),
            shared_day_totals::seq.eq(moment.next_seq()),
        )
    });
    for batch in batches(rows) {
        each_backend!(conn, |c| diesel::insert_into(shared_day_totals::table)
            .values(batch)
            .execute(c))?;
    }
    Ok(())
}

/// Removes every copy of a link, of the past too.
///
/// # Errors
/// Those of the database.
pub fn remove(conn: &mut Conn, tenant: Tenant, link_id: LinkId) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::delete(shared_day_totals::table)
        .filter(shared_day_totals::club_id.eq(tenant.club_id()))
        .filter(shared_day_totals::link_id.eq(link_id))
        .execute(c))?;
    Ok(())
}

/// The links by which the club holds copies, of whatever state of knowledge.
///
/// # Errors
/// Those of the database.
pub fn links(conn: &mut Conn, tenant: Tenant) -> Result<Vec<LinkId>, StoreError> {
    each_backend!(conn, |c| shared_day_totals::table
        .filter(shared_day_totals::club_id.eq(tenant.club_id()))
        .select(shared_day_totals::link_id)
        .distinct()
        .order(shared_day_totals::link_id)
        .load(c))
}

/// The copies of a link as they now are, by day.
///
/// # Errors
/// Those of the database.
pub fn of_link(
    conn: &mut Conn,
    tenant: Tenant,
    link_id: LinkId,
) -> Result<Vec<SharedTotal>, StoreError> {
    each_backend!(conn, |c| shared_day_totals::table
        .filter(shared_day_totals::club_id.eq(tenant.club_id()))
        .filter(shared_day_totals::link_id.eq(link_id))
        .filter(shared_day_totals::superseded_at.is_null())
        .order(shared_day_totals::date)
        .select(SharedTotal::as_select())
        .load(c))
}

/// The copies of `from..=to`, by athlete, day and link.
///
/// # Errors
/// Those of the database.
pub fn in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    state: Known,
) -> Result<Vec<SharedTotal>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = shared_day_totals::table
                .filter(shared_day_totals::club_id.eq(tenant.club_id()))
                .filter(shared_day_totals::date.between(Sql(from), Sql(to)))
                .into_boxed();
            known!(
                shared_day_totals,
                of_whom!(shared_day_totals, query, tenant, who),
                state
            )
            .order((
                shared_day_totals::athlete_id,
                shared_day_totals::date,
                shared_day_totals::link_id,
            ))
            .select(SharedTotal::as_select())
            .load(c)
        })
    })
}
