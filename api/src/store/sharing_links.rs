//! Organisations that an athlete trains with elsewhere, and what ties their shared totals to her.

use diesel::prelude::*;
use jiff::Timestamp;

use super::backend::each_backend;
use super::schema::sharing_links;
use super::seal::{Kept, Private, for_sealing, opened, sealed_row};
use super::types::Sql;
use super::who::{Who, of_whom};
use super::{Conn, StoreError, Tenant};
use crate::ids::{AthleteId, LinkId};

sealed_row! {
    /// A link.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct SharingLink {
        /// Its id.
        pub link_id: LinkId,
        /// Whose it is.
        pub athlete_id: AthleteId,
        /// SHA-256 of the code's secret.
        pub code_hash: Vec<u8>,
        /// From when on the code is good for nothing.
        pub code_until: Timestamp as Sql<Timestamp>,
        /// When the organisation was named.
        pub made_at: Timestamp as Sql<Timestamp>,
        /// When sharing began; the code is used up then.
        pub linked_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// The last of the club's changes before that.
        pub linked_seq: Option<i64>,
        /// When sharing ended.
        pub ended_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// When her family said that she no longer trains there.
        pub left_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// 1, 2, 3, …, for If-Match.
        pub version: i32,
    }
    sealed {
        /// The organisation, as her family calls it.
        pub organisation: Private<String>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable, AsChangeset)]
    #[diesel(table_name = sharing_links, treat_none_as_default_value = false, treat_none_as_null = true)]
    struct Row in sharing_links by link_id
}

/// Stores a new link.
///
/// # Errors
/// `Conflict` when the id is taken, `Reference` without the athlete.
pub fn insert(conn: &mut Conn, tenant: Tenant, link: &SharingLink) -> Result<(), StoreError> {
    let row = sealed(conn, tenant, link)?;
    each_backend!(conn, |c| diesel::insert_into(sharing_links::table)
        .values((sharing_links::club_id.eq(tenant.club_id()), row))
        .execute(c))?;
    Ok(())
}

fn sealed(conn: &mut Conn, tenant: Tenant, link: &SharingLink) -> Result<Row, StoreError> {
    let keys = for_sealing::<Row>(conn, tenant, [link].into_iter())?;
    Row::seal(link, &keys)
}

/// Replaces a link by its next version. To be called while the club is locked.
///
/// # Errors
/// `NotFound` without it.
pub fn update(conn: &mut Conn, tenant: Tenant, link: SharingLink) -> Result<(), StoreError> {
    let next = SharingLink {
        version: link.version + 1,
        ..link
    };
    let row = sealed(conn, tenant, &next)?;
    let changed = each_backend!(conn, |c| diesel::update(sharing_links::table)
        .filter(sharing_links::club_id.eq(tenant.club_id()))
        .filter(sharing_links::link_id.eq(next.link_id))
        .set(row)
        .execute(c))?;
    (changed == 1).then_some(()).ok_or(StoreError::NotFound)
}

/// The link of an id.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    link_id: LinkId,
) -> Result<Option<SharingLink>, StoreError> {
    let found: Vec<Row> = each_backend!(conn, |c| sharing_links::table
        .filter(sharing_links::club_id.eq(tenant.club_id()))
        .filter(sharing_links::link_id.eq(link_id))
        .select(Row::as_select())
        .load(c))?;
    Ok(opened(conn, tenant, found)?.pop())
}

/// The links of athletes, by athlete and id.
///
/// # Errors
/// Those of the database.
pub fn of(conn: &mut Conn, tenant: Tenant, who: Who<'_>) -> Result<Vec<SharingLink>, StoreError> {
    let found: Vec<Row> = who.read(|who| {
        each_backend!(conn, |c| {
            let query = sharing_links::table
                .filter(sharing_links::club_id.eq(tenant.club_id()))
                .into_boxed();
            of_whom!(sharing_links, query, tenant, who)
                .order((sharing_links::athlete_id, sharing_links::link_id))
                .select(Row::as_select())
                .load(c)
        })
    })?;
    opened(conn, tenant, found)
}

/// A page of an athlete's links by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    after: Option<LinkId>,
    limit: i64,
) -> Result<Vec<SharingLink>, StoreError> {
    let found: Vec<Row> = each_backend!(conn, |c| {
        let mut query = sharing_links::table
            .filter(sharing_links::club_id.eq(tenant.club_id()))
            .filter(sharing_links::athlete_id.eq(athlete_id))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(sharing_links::link_id.gt(after));
        }
        query
            .order(sharing_links::link_id)
            .limit(limit)
            .select(Row::as_select())
            .load(c)
    })?;
    opened(conn, tenant, found)
}
