//! Calendars that planned sessions come from.

use diesel::dsl::not;
use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use super::backend::each_backend;
use super::schema::calendars;
use super::seal::{Kept, Private, for_sealing, opened, sealed_row};
use super::types::{Sealed, Sql};
use super::{Conn, StoreError, Tenant};
use crate::ids::{CalendarId, ClubId};

sealed_row! {
    /// A calendar as stored.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct StoredCalendar {
        /// Its id.
        pub calendar_id: CalendarId,
        /// What the club calls it.
        pub name: String,
        /// The IANA zone of times that come without one; the club's where there is none.
        pub time_zone: Option<String>,
        /// What its events stand for, in order.
        pub rules: Value as Sql<Value>,
        /// What the feed said its text is a version of (RFC 9110, 8.8.3).
        pub etag: Option<String>,
        /// What the feed said about its text's age (RFC 9110, 8.8.2).
        pub last_modified: Option<String>,
        /// What the last reading came to.
        pub reading: Option<Value> as Sql<Option<Value>>,
        /// When it is to be read again; never while it has neither text nor feed.
        pub next_read_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Since when it cannot be read.
        pub failing_since: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Why, as a code.
        pub failing_why: Option<String>,
        /// Whether somebody has confirmed that the next text may take away most of what is to come.
        pub removal_confirmed: bool,
        /// 1, 2, 3, …; it grows with what somebody sets or sends.
        pub version: i32,
        /// When it was made.
        pub created_at: Timestamp as Sql<Timestamp>,
        /// When it was last changed.
        pub updated_at: Timestamp as Sql<Timestamp>,
    }
    sealed {
        /// Where its text is fetched.
        pub feed_url: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable, AsChangeset)]
    #[diesel(table_name = calendars, treat_none_as_default_value = false, treat_none_as_null = true)]
    struct Row in calendars by calendar_id
}

sealed_row! {
    /// A calendar's text (RFC 5545) as it last came: apart from the calendar, since it may be long.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct StoredText {
        /// Of which calendar.
        pub calendar_id: CalendarId,
    }
    sealed {
        /// The text; none before there was one.
        pub content: Option<Private<Vec<u8>>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable, AsChangeset)]
    #[diesel(table_name = calendars, treat_none_as_default_value = false, treat_none_as_null = true)]
    struct TextRow in calendars by calendar_id
}

/// The text of a calendar.
///
/// # Errors
/// Those of the database.
pub fn text(
    conn: &mut Conn,
    tenant: Tenant,
    id: CalendarId,
) -> Result<Option<Private<Vec<u8>>>, StoreError> {
    let found = each_backend!(conn, |c| calendars::table
        .filter(calendars::club_id.eq(tenant.club_id()))
        .filter(calendars::calendar_id.eq(id))
        .filter(not(calendars::deleted))
        .select(TextRow::as_select())
        .load(c))?;
    let found = opened(conn, tenant, found)?.pop();
    Ok(found.and_then(|text: StoredText| text.content))
}

/// Gives a calendar another text.
///
/// # Errors
/// `NotFound` when it is not there.
pub fn set_text(
    conn: &mut Conn,
    tenant: Tenant,
    calendar_id: CalendarId,
    content: Private<Vec<u8>>,
) -> Result<(), StoreError> {
    let text = StoredText {
        calendar_id,
        content: Some(content),
    };
    let keys = for_sealing::<TextRow>(conn, tenant, [&text].into_iter())?;
    let row = TextRow::seal(&text, &keys)?;
    let set = each_backend!(conn, |c| diesel::update(calendars::table)
        .filter(calendars::club_id.eq(tenant.club_id()))
        .filter(calendars::calendar_id.eq(calendar_id))
        .filter(not(calendars::deleted))
        .set(row)
        .execute(c))?;
    if set == 1 {
        Ok(())
    } else {
        Err(StoreError::NotFound)
    }
}

/// How many calendars a club has.
///
/// # Errors
/// Those of the database.
pub fn count(conn: &mut Conn, tenant: Tenant) -> Result<i64, StoreError> {
    each_backend!(conn, |c| calendars::table
        .filter(calendars::club_id.eq(tenant.club_id()))
        .filter(not(calendars::deleted))
        .count()
        .get_result(c))
}

/// Adds a calendar.
///
/// # Errors
/// `Conflict` when the id is taken, `Reference` without the club.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    calendar: &StoredCalendar,
) -> Result<(), StoreError> {
    let row = sealed(conn, tenant, calendar)?;
    each_backend!(conn, |c| diesel::insert_into(calendars::table)
        .values((
            calendars::club_id.eq(tenant.club_id()),
            calendars::deleted.eq(false),
            row
        ))
        .execute(c))?;
    Ok(())
}

fn sealed(conn: &mut Conn, tenant: Tenant, calendar: &StoredCalendar) -> Result<Row, StoreError> {
    let keys = for_sealing::<Row>(conn, tenant, [calendar].into_iter())?;
    Row::seal(calendar, &keys)
}

/// Stores a calendar as it now is.
///
/// # Errors
/// `NotFound` when it is not there.
pub fn save(conn: &mut Conn, tenant: Tenant, calendar: &StoredCalendar) -> Result<(), StoreError> {
    let row = sealed(conn, tenant, calendar)?;
    let saved = each_backend!(conn, |c| diesel::update(calendars::table)
        .filter(calendars::club_id.eq(tenant.club_id()))
        .filter(calendars::calendar_id.eq(calendar.calendar_id))
        .filter(not(calendars::deleted))
        .set(row)
        .execute(c))?;
    if saved == 1 {
        Ok(())
    } else {
        Err(StoreError::NotFound)
    }
}

/// Takes a calendar away: its text and its feed are forgotten.
///
/// # Errors
/// Those of the database.
pub fn delete(conn: &mut Conn, tenant: Tenant, id: CalendarId) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(calendars::table)
        .filter(calendars::club_id.eq(tenant.club_id()))
        .filter(calendars::calendar_id.eq(id))
        .set((
            calendars::deleted.eq(true),
            calendars::feed_url.eq(None::<Sealed>),
            calendars::content.eq(None::<Sealed>),
            calendars::next_read_at.eq(Sql(None::<Timestamp>)),
        ))
        .execute(c))?;
    Ok(())
}

/// Whether an id is that of a calendar, deleted or not.
///
/// # Errors
/// Those of the database.
pub fn is_taken(conn: &mut Conn, tenant: Tenant, id: CalendarId) -> Result<bool, StoreError> {
    let found: i64 = each_backend!(conn, |c| calendars::table
        .filter(calendars::club_id.eq(tenant.club_id()))
        .filter(calendars::calendar_id.eq(id))
        .count()
        .get_result(c))?;
    Ok(found > 0)
}

/// A calendar.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    id: CalendarId,
) -> Result<Option<StoredCalendar>, StoreError> {
    let found = each_backend!(conn, |c| calendars::table
        .filter(calendars::club_id.eq(tenant.club_id()))
        .filter(calendars::calendar_id.eq(id))
        .filter(not(calendars::deleted))
        .select(Row::as_select())
        .load(c))?;
    Ok(opened(conn, tenant, found)?.pop())
}

/// A page of calendars by id.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<CalendarId>,
    limit: i64,
) -> Result<Vec<StoredCalendar>, StoreError> {
    let found = each_backend!(conn, |c| {
        let mut query = calendars::table
            .filter(calendars::club_id.eq(tenant.club_id()))
            .filter(not(calendars::deleted))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(calendars::calendar_id.gt(after));
        }
        query
            .order(calendars::calendar_id)
            .limit(limit)
            .select(Row::as_select())
            .load(c)
    })?;
    opened(conn, tenant, found)
}

/// The calendars of any club that are to be read by now, the longest due first: for the job, and so without a tenant.
///
/// # Errors
/// Those of the database.
pub fn due(
    conn: &mut Conn,
    now: Timestamp,
    limit: i64,
) -> Result<Vec<(ClubId, CalendarId)>, StoreError> {
    each_backend!(conn, |c| calendars::table
        .filter(not(calendars::deleted))
        .filter(calendars::next_read_at.le(Sql(Some(now))))
        .order((
            calendars::next_read_at,
            calendars::club_id,
            calendars::calendar_id
        ))
        .limit(limit)
        .select((calendars::club_id, calendars::calendar_id))
        .load(c))
}

/// How many calendars of all clubs cannot be read since `since` or longer: for the service's own health, and so without a tenant.
///
/// # Errors
/// Those of the database.
pub fn failing(conn: &mut Conn, since: Timestamp) -> Result<i64, StoreError> {
    each_backend!(conn, |c| calendars::table
        .filter(not(calendars::deleted))
        .filter(calendars::failing_since.le(Sql(Some(since))))
        .count()
        .get_result(c))
}
