//! What has changed in a club since a number of its sequence: each record once, at its latest change, in order.
//!
//! Read from the current versions themselves, so that the list can neither miss a change nor tell one that did not happen. A write holds
//! its club until it has committed, so that a smaller number never appears after a larger one was read.

use diesel::prelude::*;
use jiff::Timestamp;
use uuid::Uuid;

use super::backend::each_backend;
use super::codes::ChangeKind;
use super::schema::{
    absences, athlete_versions, attendance, declared_histories, erasures, event_warm_ups, events,
    flag_versions, memberships, policies, programme_assignments, programmes, questions, rest_days,
    session_contacts, session_reports, squads,
};
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::{
    AbsenceId, AthleteId, AttendanceId, DeclaredHistoryId, EventId, FlagId, MembershipId,
    ProgrammeAssignmentId, ProgrammeId, QuestionId, RestDayId, SessionId, SquadId,
};

/// A record that has changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    /// Its place in the club's sequence.
    pub seq: i64,
    /// What it is.
    pub kind: ChangeKind,
    /// Its id, of an erasure that of the athlete; none of a policy, which its version names.
    pub id: Option<Uuid>,
    /// What it is found under: the squad of a membership, the athlete of what was declared, the programme of an assignment.
    pub within: Option<Uuid>,
    /// Which version it now is.
    pub version: i32,
    /// When that became known.
    pub received_at: Timestamp,
    /// Whether it is gone.
    pub deleted: bool,
    /// How a question stands; `None` of anything else.
    pub question: Option<QuestionStanding>,
}

/// What is told of a question: nothing of its text, nor whether something hurts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct QuestionStanding {
    /// Whose record it is about.
    pub athlete_id: AthleteId,
    /// Whether it waits for somebody.
    pub is_open: bool,
    /// Whether it has a reply.
    pub is_answered: bool,
}

/// The records changed after a number of the sequence, in order, at most so many.
///
/// # Errors
/// Those of the database.
pub fn since(
    conn: &mut Conn,
    tenant: Tenant,
    after: i64,
    limit: i64,
) -> Result<Vec<Changed>, StoreError> {
    /// The current versions of a table; `within` is a column, or nothing.
    macro_rules! versions {
        ($kind:ident, $table:ident, $key:ident: $Key:ty, $within:ident: $Within:ty) => {{
            let rows: Vec<(i64, $Key, $Within, i32, Sql<Timestamp>, bool)> =
                each_backend!(conn, |c| $table::table
                    .filter($table::club_id.eq(tenant.club_id()))
                    .filter($table::seq.gt(after))
                    .filter($table::superseded_at.is_null())
                    .order($table::seq)
                    .limit(limit)
                    .select((
                        $table::seq,
                        $table::$key,
                        $table::$within,
                        $table::version,
                        $table::received_at,
                        $table::deleted,
                    ))
                    .load(c))?;
            rows.into_iter()
                .map(|(seq, id, within, version, Sql(received_at), deleted)| Changed {
                    seq,
                    kind: ChangeKind::$kind,
                    id: Some(id.uuid()),
                    within: Some(within.uuid()),
                    version,
                    received_at,
                    deleted,
                    question: None,
                })
        }};
        ($kind:ident, $table:ident, $key:ident: $Key:ty) => {
            versions!($kind, $table, $key: $Key, $key: $Key)
                .map(|changed| Changed { within: None, ..changed })
        };
    }
    let mut found: Vec<Changed> =
        versions!(Athlete, athlete_versions, athlete_id: AthleteId).collect();
    found
        .extend(versions!(Membership, memberships, membership_id: MembershipId, squad_id: SquadId));
    found.extend(versions!(Event, events, event_id: EventId));
    found.extend(versions!(EventWarmUp, event_warm_ups, event_id: EventId));
    found.extend(versions!(Attendance, attendance, attendance_id: AttendanceId));
    found.extend(versions!(Session, session_reports, session_id: SessionId));
    found.extend(versions!(SessionContacts, session_contacts, session_id: SessionId));
    found.extend(versions!(RestDay, rest_days, rest_day_id: RestDayId));
    found.extend(versions!(Absence, absences, absence_id: AbsenceId));
    let declared = versions!(DeclaredHistory, declared_histories, declared_id: DeclaredHistoryId, athlete_id: AthleteId);
    found.extend(declared);
    found.extend(versions!(Programme, programmes, programme_id: ProgrammeId));
    let assigned = versions!(ProgrammeAssignment, programme_assignments, assignment_id: ProgrammeAssignmentId, programme_id: ProgrammeId);
    found.extend(assigned);
    found.extend(questions_since(conn, tenant, after, limit)?);
    found.extend(squads_since(conn, tenant, after, limit)?);
    found.extend(policies_since(conn, tenant, after, limit)?);
    found.extend(flags_since(conn, tenant, after, limit)?);
    found.extend(erasures_since(conn, tenant, after, limit)?);
    found.sort_unstable_by_key(|changed| changed.seq);
    found.truncate(usize::try_from(limit).unwrap_or(usize::MAX));
    Ok(found)
}

fn squads_since(
    conn: &mut Conn,
    tenant: Tenant,
    after: i64,
    limit: i64,
) -> Result<impl Iterator<Item = Changed> + use<>, StoreError> {
    let rows: Vec<(i64, SquadId, i32, Sql<Timestamp>)> = each_backend!(conn, |c| squads::table
        .filter(squads::club_id.eq(tenant.club_id()))
        .filter(squads::seq.gt(after))
        .order(squads::seq)
        .limit(limit)
        .select((
            squads::seq,
            squads::squad_id,
            squads::version,
            squads::updated_at
        ))
        .load(c))?;
    let changed = |(seq, id, version, Sql(received_at)): (_, SquadId, _, _)| Changed {
        seq,
        kind: ChangeKind::Squad,
        id: Some(id.uuid()),
        within: None,
        version,
        received_at,
        deleted: false,
        question: None,
    };
    Ok(rows.into_iter().map(changed))
}

fn policies_since(
    conn: &mut Conn,
    tenant: Tenant,
    after: i64,
    limit: i64,
) -> Result<impl Iterator<Item = Changed> + use<>, StoreError> {
    let rows: Vec<(i64, i32, Sql<Timestamp>)> = each_backend!(conn, |c| policies::table
        .filter(policies::club_id.eq(tenant.club_id()))
        .filter(policies::seq.gt(after))
        .order(policies::seq)
        .limit(limit)
        .select((policies::seq, policies::version, policies::received_at))
        .load(c))?;
    let changed = |(seq, version, Sql(received_at))| Changed {
        seq,
        kind: ChangeKind::Policy,
        id: None,
        within: None,
        version,
        received_at,
        deleted: false,
        question: None,
    };
    Ok(rows.into_iter().map(changed))
}

fn erasures_since(
    conn: &mut Conn,
    tenant: Tenant,
    after: i64,
    limit: i64,
) -> Result<impl Iterator<Item = Changed> + use<>, StoreError> {
    let rows: Vec<(i64, AthleteId, Sql<Timestamp>)> = each_backend!(conn, |c| erasures::table
        .filter(erasures::club_id.eq(tenant.club_id()))
        .filter(erasures::seq.gt(after))
        .order(erasures::seq)
        .limit(limit)
        .select((erasures::seq, erasures::athlete_id, erasures::at))
        .load(c))?;
    let changed = |(seq, id, Sql(received_at)): (_, AthleteId, _)| Changed {
        seq,
        kind: ChangeKind::Erasure,
        id: Some(id.uuid()),
        within: None,
        version: 1,
        received_at,
        deleted: true,
        question: None,
    };
    Ok(rows.into_iter().map(changed))
}

/// Number, id, version, when it was received, whether it is gone; athlete, whether it is open and has a reply.
type QuestionRow = (
    i64,
    QuestionId,
    i32,
    Sql<Timestamp>,
    bool,
    AthleteId,
    bool,
    bool,
);

/// Questions, each with how it stands: their texts are not read, and what hurts is not told from what does not.
fn questions_since(
    conn: &mut Conn,
    tenant: Tenant,
    after: i64,
    limit: i64,
) -> Result<impl Iterator<Item = Changed> + use<>, StoreError> {
    let rows: Vec<QuestionRow> = each_backend!(conn, |c| questions::table
        .filter(questions::club_id.eq(tenant.club_id()))
        .filter(questions::seq.gt(after))
        .filter(questions::superseded_at.is_null())
        .order(questions::seq)
        .limit(limit)
        .select((
            questions::seq,
            questions::question_id,
            questions::version,
            questions::received_at,
            questions::deleted,
            questions::athlete_id,
            questions::is_open,
            questions::reply.is_not_null(),
        ))
        .load(c))?;
    let changed = |row: QuestionRow| {
        let (seq, id, version, Sql(received_at), deleted, athlete_id, is_open, is_answered) = row;
        Changed {
            seq,
            kind: ChangeKind::Question,
            id: Some(id.uuid()),
            within: None,
            version,
            received_at,
            deleted,
            question: Some(QuestionStanding {
                athlete_id,
                is_open,
                is_answered,
            }),
        }
    };
    Ok(rows.into_iter().map(changed))
}

/// Number, id, version, when it was received, and when it was hidden.
type FlagRow = (i64, FlagId, i32, Sql<Timestamp>, Sql<Option<Timestamp>>);

/// Flags; one that rests on what is not shared any more is hidden, and so gone.
fn flags_since(
    conn: &mut Conn,
    tenant: Tenant,
    after: i64,
    limit: i64,
) -> Result<impl Iterator<Item = Changed> + use<>, StoreError> {
    let rows: Vec<FlagRow> = each_backend!(conn, |c| flag_versions::table
        .filter(flag_versions::club_id.eq(tenant.club_id()))
        .filter(flag_versions::seq.gt(after))
        .filter(flag_versions::superseded_at.is_null())
        .order(flag_versions::seq)
        .limit(limit)
        .select((
            flag_versions::seq,
            flag_versions::flag_id,
            flag_versions::version,
            flag_versions::received_at,
            flag_versions::hidden_at
        ))
        .load(c))?;
    let changed = |(seq, id, version, Sql(received_at), Sql(hidden)): FlagRow| Changed {
        seq,
        kind: ChangeKind::Flag,
        id: Some(id.uuid()),
        within: None,
        version,
        received_at,
        deleted: hidden.is_some(),
        question: None,
    };
    Ok(rows.into_iter().map(changed))
}
