//! Closed weeks from which records were erased: figures of the group are told no more, since the difference to what was told before
//! would be one child's. They are marked with the erasure, in `subject_records`.

use diesel::prelude::*;
use jiff::civil::Date;
use uuid::Uuid;

use super::backend::each_backend;
use super::schema::withheld_weeks;
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::SquadId;

/// Stands for the whole club.
pub(super) const WHOLE_CLUB: Uuid = Uuid::nil();

/// Whether figures of a squad's week that begins on this Monday are withheld.
///
/// # Errors
/// Those of the database.
pub fn is_withheld(
    conn: &mut Conn,
    tenant: Tenant,
    squad_id: SquadId,
    monday: Date,
) -> Result<bool, StoreError> {
    let found: i64 = each_backend!(conn, |c| withheld_weeks::table
        .filter(withheld_weeks::club_id.eq(tenant.club_id()))
        .filter(withheld_weeks::squad_id.eq(squad_id))
        .filter(withheld_weeks::monday.eq(Sql(monday)))
        .count()
        .get_result(c))?;
    Ok(found > 0)
}

/// The Mondays of `from..=to` of which counts of the whole club are withheld, in order.
///
/// # Errors
/// Those of the database.
pub fn of_club(
    conn: &mut Conn,
    tenant: Tenant,
    from: Date,
    to: Date,
) -> Result<Vec<Date>, StoreError> {
    let found: Vec<Sql<Date>> = each_backend!(conn, |c| withheld_weeks::table
        .filter(withheld_weeks::club_id.eq(tenant.club_id()))
        .filter(withheld_weeks::squad_id.eq(SquadId::from(WHOLE_CLUB)))
        .filter(withheld_weeks::monday.between(Sql(from), Sql(to)))
        .order(withheld_weeks::monday)
        .select(withheld_weeks::monday)
        .load(c))?;
    Ok(found.into_iter().map(Date::from).collect())
}
