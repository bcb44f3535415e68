//! Who does which version of a programme, and from when to when.

use jiff::civil::Date;
use serde_json::Value;

use super::schema::programme_assignments as assignments;
use super::schema::programme_assignments;
use super::versioned::prelude::*;
use crate::ids::{AthleteId, ProgrammeAssignmentId, ProgrammeId, SquadId};

/// An assignment: to a squad or to one athlete.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = programme_assignments, treat_none_as_default_value = false)]
pub struct Assignment {
    /// Its id.
    pub assignment_id: ProgrammeAssignmentId,
    /// The programme.
    pub programme_id: ProgrammeId,
    /// Which version of it.
    pub programme_version: i32,
    /// The squad that does it.
    pub squad_id: Option<SquadId>,
    /// Or the athlete.
    pub athlete_id: Option<AthleteId>,
    /// The Monday on which its first week begins.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub from_date: Date,
    /// The last day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub until_date: Date,
    /// What is different for the athlete.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub changes: Value,
}

versioned!(programme_assignments, assignment_id: ProgrammeAssignmentId, Assignment, pub fn insert);

/// The current, undeleted assignments of a programme that end on a date or later, by id.
///
/// # Errors
/// Those of the database.
pub fn of_programme(
    conn: &mut Conn,
    tenant: Tenant,
    programme: ProgrammeId,
    from: Date,
) -> Result<Vec<Versioned<Assignment>>, StoreError> {
    Ok(each_backend!(conn, |c| assignments::table
        .filter(assignments::club_id.eq(tenant.club_id()))
        .filter(assignments::programme_id.eq(programme))
        .filter(assignments::until_date.ge(Sql(from)))
        .filter(assignments::superseded_at.is_null())
        .filter(not(assignments::deleted))
        .order(assignments::assignment_id)
        .select((
            Assignment::as_select(),
            version_columns!(programme_assignments)
        ))
        .load(c))?)
}

/// The undeleted assignments of a programme to one athlete each with a day in `from..=to`, by first day and id.
///
/// # Errors
/// Those of the database.
pub fn own_of_programme(
    conn: &mut Conn,
    tenant: Tenant,
    programme: ProgrammeId,
    (from, to): (Date, Date),
    state: Known,
) -> Result<Vec<Versioned<Assignment>>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let query = assignments::table
            .filter(assignments::club_id.eq(tenant.club_id()))
            .filter(assignments::programme_id.eq(programme))
            .filter(assignments::athlete_id.is_not_null())
            .filter(assignments::from_date.le(Sql(to)))
            .filter(assignments::until_date.ge(Sql(from)))
            .filter(not(assignments::deleted))
            .into_boxed();
        known!(assignments, query, state)
            .order((assignments::from_date, assignments::assignment_id))
            .select((
                Assignment::as_select(),
                version_columns!(programme_assignments),
            ))
            .load(c)
    })?)
}

/// The undeleted assignments to an athlete or to one of some squads with a day in `from..=to`, by first day and id.
///
/// # Errors
/// Those of the database.
pub fn of_athlete(
    conn: &mut Conn,
    tenant: Tenant,
    (athlete, squads): (AthleteId, &[SquadId]),
    (from, to): (Date, Date),
    state: Known,
) -> Result<Vec<Versioned<Assignment>>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let query = assignments::table
            .filter(assignments::club_id.eq(tenant.club_id()))
            .filter(
                assignments::athlete_id
                    .eq(athlete)
                    .or(assignments::squad_id.assume_not_null().eq_any(squads)),
            )
            .filter(assignments::from_date.le(Sql(to)))
            .filter(assignments::until_date.ge(Sql(from)))
            .filter(not(assignments::deleted))
            .into_boxed();
        known!(assignments, query, state)
            .order((assignments::from_date, assignments::assignment_id))
            .select((
                Assignment::as_select(),
                version_columns!(programme_assignments),
            ))
            .load(c)
    })?)
}
