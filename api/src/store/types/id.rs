//! Identifiers: `uuid`, and a 16-byte blob.

use std::io::Write;

use super::bind::prelude::*;
use crate::ids::{
    AbsenceId, AcknowledgementId, AthleteId, AttendanceId, AuditId, CalendarId, ClearanceId,
    ClubId, ConsentId, DeclaredHistoryId, DeliveryId, DirectoryEntryId, ErasureId, EventId,
    ExerciseId, FlagId, GuardianLinkId, HoldId, InjuryId, LeaseId, LicenceId, LinkId, MembershipId,
    NoticeEndpointId, NoticeId, PainReportId, PolicyDraftId, ProgrammeAssignmentId, ProgrammeId,
    QuestionId, RestDayId, RestrictionId, RevocationId, RosterSourceId, SecondCopyId, SessionId,
    SignOffId, SquadId, TestResultId,
};
use crate::store::seal::RowKey;

/// An identifier.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 2950, array_oid = 2951),
    sqlite_type(name = "Binary")
)]
pub struct Id;

macro_rules! id {
    ($($id:ty),+ $(,)?) => {$(
        sql_type!(Id: $id);

        impl RowKey for $id {
            fn octets(&self) -> Vec<u8> {
                self.uuid().as_bytes().to_vec()
            }

            fn from_octets(octets: &[u8]) -> Option<Self> {
                uuid::Uuid::from_slice(octets).ok().map(Self::from)
            }
        }

        impl ToSql<Id, Pg> for $id {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
                out.write_all(self.uuid().as_bytes())?;
                Ok(IsNull::No)
            }
        }

        impl FromSql<Id, Pg> for $id {
            fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
                Ok(uuid::Uuid::from_slice(value.as_bytes())?.into())
            }
        }

        impl ToSql<Id, Sqlite> for $id {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
                out.set_value(self.uuid().as_bytes().to_vec());
                Ok(IsNull::No)
            }
        }

        impl FromSql<Id, Sqlite> for $id {
            fn from_sql(mut value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
                Ok(uuid::Uuid::from_slice(value.read_blob())?.into())
            }
        }
    )+};
}

id!(
    ClubId,
    PolicyDraftId,
    SquadId,
    AthleteId,
    MembershipId,
    GuardianLinkId,
    DirectoryEntryId,
    SessionId,
    RestDayId,
    AbsenceId,
    TestResultId,
    InjuryId,
    PainReportId,
    ExerciseId,
    SignOffId,
    QuestionId,
    ProgrammeId,
    ProgrammeAssignmentId,
    LicenceId,
    RestrictionId,
    ClearanceId,
    ConsentId,
    HoldId,
    LinkId,
    EventId,
    CalendarId,
    RosterSourceId,
    SecondCopyId,
    AttendanceId,
    DeclaredHistoryId,
    FlagId,
    AcknowledgementId,
    AuditId,
    RevocationId,
    NoticeEndpointId,
    NoticeId,
    DeliveryId,
    LeaseId,
    ErasureId
);
