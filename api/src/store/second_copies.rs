//! Two athletes who are perhaps one, and what somebody who knows them decided.

use serde_json::Value;

use super::codes::CopyDecision;
use super::schema::{
    absences, athlete_versions, attendance, guardian_links, memberships, rest_days, second_copies,
    session_contacts, session_reports,
};
use super::versioned::prelude::*;
use crate::ids::{
    AbsenceId, AthleteId, AttendanceId, GuardianLinkId, MembershipId, RestDayId, SecondCopyId,
    SessionId,
};

/// A new athlete, and whom she may be.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = second_copies, treat_none_as_default_value = false)]
pub struct SecondCopy {
    /// Its id.
    pub second_copy_id: SecondCopyId,
    /// The new athlete.
    pub athlete_id: AthleteId,
    /// Whom she may be.
    pub of_athlete_id: AthleteId,
    /// What was decided.
    #[diesel(serialize_as = Sql<CopyDecision>, deserialize_as = Sql<CopyDecision>)]
    pub decision: CopyDecision,
    /// What was carried over, while they are one person.
    #[diesel(serialize_as = Sql<Option<Value>>, deserialize_as = Sql<Option<Value>>)]
    pub carried: Option<Value>,
}

versioned!(second_copies, second_copy_id: SecondCopyId, SecondCopy, pub fn insert);

/// A page of the proposals by id, after the given one; of one decision, or of any.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    decision: Option<CopyDecision>,
    after: Option<SecondCopyId>,
    limit: i64,
) -> Result<Vec<Versioned<SecondCopy>>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let mut query = second_copies::table
            .filter(second_copies::club_id.eq(tenant.club_id()))
            .filter(second_copies::superseded_at.is_null())
            .into_boxed();
        if let Some(decision) = decision {
            query = query.filter(second_copies::decision.eq(Sql(decision)));
        }
        if let Some(after) = after {
            query = query.filter(second_copies::second_copy_id.gt(after));
        }
        query
            .order(second_copies::second_copy_id)
            .limit(limit)
            .select((SecondCopy::as_select(), version_columns!(second_copies)))
            .load(c)
    })?)
}

/// The records that are one person with an athlete, as decided.
///
/// # Errors
/// Those of the database.
pub fn one_with(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
) -> Result<Vec<AthleteId>, StoreError> {
    Ok(each_backend!(conn, |c| second_copies::table
        .filter(second_copies::club_id.eq(tenant.club_id()))
        .filter(second_copies::of_athlete_id.eq(athlete_id))
        .filter(second_copies::decision.eq(Sql(CopyDecision::SamePerson)))
        .filter(second_copies::superseded_at.is_null())
        .order(second_copies::athlete_id)
        .select(second_copies::athlete_id)
        .load(c))?)
}

/// The records that are one person with another, each with that one, as decided in a state of knowledge.
///
/// # Errors
/// Those of the database.
pub fn joined(
    conn: &mut Conn,
    tenant: Tenant,
    state: Known,
) -> Result<Vec<(AthleteId, AthleteId)>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let query = second_copies::table
            .filter(second_copies::club_id.eq(tenant.club_id()))
            .filter(second_copies::decision.eq(Sql(CopyDecision::SamePerson)))
            .into_boxed();
        known!(second_copies, query, state)
            .select((second_copies::athlete_id, second_copies::of_athlete_id))
            .load(c)
    })?)
}

/// A key under which an athlete was entered a second time, and which leads to her since somebody decided that they are one.
#[derive(Debug, Clone, PartialEq, Eq, Queryable)]
pub struct OtherKey {
    /// The key.
    pub external_id: Option<String>,
    /// The client whose key it is.
    pub source: String,
    /// The athlete.
    pub athlete_id: AthleteId,
}

/// The other keys among these external ids, or all of the club.
///
/// # Errors
/// Those of the database.
pub fn other_keys(
    conn: &mut Conn,
    tenant: Tenant,
    among: Option<&[&str]>,
) -> Result<Vec<OtherKey>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let mut query = second_copies::table
            .inner_join(
                athlete_versions::table.on(athlete_versions::club_id
                    .eq(second_copies::club_id)
                    .and(athlete_versions::athlete_id.eq(second_copies::athlete_id))),
            )
            .filter(second_copies::club_id.eq(tenant.club_id()))
            .filter(second_copies::decision.eq(Sql(CopyDecision::SamePerson)))
            .filter(second_copies::superseded_at.is_null())
            .filter(athlete_versions::superseded_at.is_null())
            .into_boxed();
        if let Some(among) = among {
            query = query.filter(athlete_versions::external_id.eq_any(among));
        }
        query
            .select((
                athlete_versions::external_id,
                athlete_versions::source,
                second_copies::of_athlete_id,
            ))
            .load(c)
    })?)
}

/// Ids of what belongs to one athlete and can be carried over to another.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct RecordIds {
    /// Session reports.
    pub sessions: Vec<SessionId>,
    /// What was counted in sessions, by session.
    pub session_contacts: Vec<SessionId>,
    /// Days of rest.
    pub rest_days: Vec<RestDayId>,
    /// Spans of days away.
    pub absences: Vec<AbsenceId>,
    /// Entries of attendance lists.
    pub attendance: Vec<AttendanceId>,
    /// Times in squads.
    pub memberships: Vec<MembershipId>,
    /// Guardians.
    pub guardian_links: Vec<GuardianLinkId>,
}

/// What now belongs to an athlete, by id.
///
/// # Errors
/// Those of the database.
pub fn records_of(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
) -> Result<RecordIds, StoreError> {
    macro_rules! ids {
        ($table:ident, $key:ident) => {
            each_backend!(conn, |c| $table::table
                .filter($table::club_id.eq(tenant.club_id()))
                .filter($table::athlete_id.eq(athlete_id))
                .filter($table::superseded_at.is_null())
                .filter(not($table::deleted))
                .order($table::$key)
                .select($table::$key)
                .load(c))?
        };
    }
    Ok(RecordIds {
        sessions: ids!(session_reports, session_id),
        session_contacts: ids!(session_contacts, session_id),
        rest_days: ids!(rest_days, rest_day_id),
        absences: ids!(absences, absence_id),
        attendance: ids!(attendance, attendance_id),
        memberships: ids!(memberships, membership_id),
        guardian_links: ids!(guardian_links, guardian_link_id),
    })
}
