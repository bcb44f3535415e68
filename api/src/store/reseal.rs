//! What is sealed, column by column, and sealing it anew under the club's newest key.
//!
//! Also what was stored before there were keys is sealed here. The value stays the same, so no version is made of it.

use diesel::prelude::*;

use super::backend::each_backend;
use super::club_keys;
use super::schema::{
    calendars, clearance_records, consents, flag_acknowledgements, idempotency_keys,
    notice_endpoints, questions, restrictions, roster_sources, session_reports, sharing_links,
    sign_offs,
};
use super::seal::{Place, RowKey};
use super::types::Sealed;
use super::{Conn, StoreError, Tenant};
use crate::ids::{
    AcknowledgementId, CalendarId, ClearanceId, ConsentId, LinkId, NoticeEndpointId, QuestionId,
    RestrictionId, RosterSourceId, SessionId, SignOffId,
};

/// Values sealed anew in one transaction: writers of the club wait for as long.
const BATCH: i64 = 100;

type ResealSome = fn(&mut Conn, Tenant, Option<&[u8]>) -> Result<Resealed, StoreError>;

/// A sealed column.
#[derive(Debug, Clone, Copy)]
pub struct SealedColumn {
    /// `table.column`.
    pub name: &'static str,
    some: ResealSome,
}

/// What one batch came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resealed {
    /// How many values were sealed anew.
    pub values: usize,
    /// The last row, after which the next batch goes on; `None` when none was found.
    pub last: Option<Vec<u8>>,
}

impl SealedColumn {
    /// Seals some of the values anew that are not under the newest key, from this row on.
    ///
    /// # Errors
    /// `NotOpened` when one does not open, and those of the database.
    pub fn reseal_some(
        &self,
        conn: &mut Conn,
        tenant: Tenant,
        from: Option<&[u8]>,
    ) -> Result<Resealed, StoreError> {
        (self.some)(conn, tenant, from)
    }
}

macro_rules! column {
    ($table:ident, $key:ident: $Key:ty, $column:ident) => {
        SealedColumn {
            name: concat!(stringify!($table), ".", stringify!($column)),
            some: |conn, tenant, from| {
                let keys = club_keys::for_sealing(conn, tenant)?;
                let Some(newest) = keys.newest() else {
                    return Err(StoreError::NotOpened("club_keys.wrapped"));
                };
                let under_another = $table::$column
                    .lt(Sealed::first_under(newest))
                    .or($table::$column.ge(Sealed::first_under(newest + 1)));
                let rows: Vec<($Key, Sealed)> = each_backend!(conn, |c| {
                    let mut query = $table::table
                        .filter($table::club_id.eq(tenant.club_id()))
                        .filter($table::$column.is_not_null())
                        .filter(under_another)
                        .into_boxed();
                    if let Some(from) = from.and_then(<$Key>::from_octets) {
                        query = query.filter($table::$key.ge(from));
                    }
                    query
                        .order($table::$key)
                        .limit(BATCH)
                        .select(($table::$key, $table::$column.assume_not_null()))
                        .load(c)
                })?;
                for (key, old) in &rows {
                    let place = Place {
                        column: concat!(stringify!($table), ".", stringify!($column)),
                        row: &key.octets(),
                    };
                    let new = keys.seal(place, &keys.open(place, old)?)?;
                    // The old value says which version it is: no two are sealed alike.
                    each_backend!(conn, |c| diesel::update($table::table)
                        .filter($table::club_id.eq(tenant.club_id()))
                        .filter($table::$key.eq(key))
                        .filter($table::$column.eq(old.clone()))
                        .set($table::$column.eq(new))
                        .execute(c))?;
                }
                Ok(Resealed {
                    values: rows.len(),
                    last: rows.last().map(|(key, _)| key.octets()),
                })
            },
        }
    };
}

/// Every sealed column.
pub const COLUMNS: [SealedColumn; 24] = [
    column!(session_reports, session_id: SessionId, note),
    column!(session_reports, session_id: SessionId, reason),
    column!(restrictions, restriction_id: RestrictionId, instruction),
    column!(restrictions, restriction_id: RestrictionId, note),
    column!(restrictions, restriction_id: RestrictionId, reason),
    column!(sign_offs, sign_off_id: SignOffId, note),
    column!(sign_offs, sign_off_id: SignOffId, reason),
    column!(questions, question_id: QuestionId, text),
    column!(questions, question_id: QuestionId, reply),
    column!(clearance_records, clearance_id: ClearanceId, scope),
    column!(clearance_records, clearance_id: ClearanceId, document_reference),
    column!(flag_acknowledgements, acknowledgement_id: AcknowledgementId, note),
    column!(notice_endpoints, endpoint_id: NoticeEndpointId, address),
    column!(notice_endpoints, endpoint_id: NoticeEndpointId, secret),
    column!(notice_endpoints, endpoint_id: NoticeEndpointId, old_secret),
    column!(calendars, calendar_id: CalendarId, feed_url),
    column!(calendars, calendar_id: CalendarId, content),
    column!(roster_sources, source_id: RosterSourceId, url),
    column!(roster_sources, source_id: RosterSourceId, credentials),
    column!(consents, consent_id: ConsentId, purpose),
    column!(consents, consent_id: ConsentId, evidence),
    column!(consents, consent_id: ConsentId, withdrawal_evidence),
    column!(sharing_links, link_id: LinkId, organisation),
    column!(idempotency_keys, key_hash: Vec<u8>, body),
];
