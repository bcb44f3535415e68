//! Codes: text on both.

use std::io::Write;

use plimsoll_domain::roster::MembershipRole;
use plimsoll_domain::{
    Basis, Better, BodyArea, CountBasis, GivenBy, Kind, Phase, RecordRegime, Setting, Side,
};

use super::bind::prelude::*;
use crate::store::codes::{
    AbsenceCategory, AttemptOutcome, AttendanceStatus, Certainty, Channel, ConsentGiver,
    ConsentRecipient, CopyDecision, Decision, DeliveryState, ErasureReason, EventStatus,
    ExpectedState, FlagState, HoldEnd, HoldReason, NoticeKind, RestrictedTo, RevocationKind,
    WaitingFor, WrittenClearance,
};

/// A small enumeration as its stable code.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(postgres_type(oid = 25, array_oid = 1009), sqlite_type(name = "Text"))]
pub struct Code;

macro_rules! code {
    ($($code:ty),+ $(,)?) => {$(
        foreign_type!(Code: $code);

        impl ToSql<Code, Pg> for Sql<$code> {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
                out.write_all(self.0.code().as_bytes())?;
                Ok(IsNull::No)
            }
        }

        impl FromSql<Code, Pg> for Sql<$code> {
            fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
                let text = std::str::from_utf8(value.as_bytes())?;
                <$code>::parse(text).map(Self).ok_or_else(|| unknown_code(text))
            }
        }

        impl ToSql<Code, Sqlite> for Sql<$code> {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
                out.set_value(self.0.code());
                Ok(IsNull::No)
            }
        }

        impl FromSql<Code, Sqlite> for Sql<$code> {
            fn from_sql(mut value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
                let text = value.read_text();
                <$code>::parse(text).map(Self).ok_or_else(|| unknown_code(text))
            }
        }
    )+};
}

code!(
    Setting,
    Kind,
    Basis,
    CountBasis,
    GivenBy,
    Side,
    BodyArea,
    Better,
    Phase,
    MembershipRole,
    RevocationKind,
    AbsenceCategory,
    RestrictedTo,
    WrittenClearance,
    Decision,
    ConsentGiver,
    ConsentRecipient,
    CopyDecision,
    RecordRegime,
    HoldReason,
    HoldEnd,
    EventStatus,
    AttendanceStatus,
    ExpectedState,
    FlagState,
    Certainty,
    Channel,
    NoticeKind,
    DeliveryState,
    AttemptOutcome,
    WaitingFor,
    ErasureReason
);

fn unknown_code(text: &str) -> Box<dyn std::error::Error + Send + Sync> {
    format!("{text:?} is not a code of this version").into()
}
