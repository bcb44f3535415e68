//! Squads.

use diesel::prelude::*;
use diesel::upsert::excluded;
use jiff::Timestamp;

use super::backend::{BATCH, batches, each_backend};
use super::schema::squads;
use super::types::{Sql, whole_microsecond};
use super::{Conn, Moment, StoreError, Tenant};
use crate::ids::SquadId;

/// A squad as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = squads)]
pub struct Squad {
    /// Its id.
    pub squad_id: SquadId,
    /// Its name.
    pub name: String,
    /// The roster's own key.
    pub external_id: Option<String>,
    /// Version, for If-Match.
    pub version: i32,
    /// When it was made.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub created_at: Timestamp,
    /// When it was last changed.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub updated_at: Timestamp,
}

/// What is said of a squad.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SquadContent {
    /// Its id.
    pub squad_id: SquadId,
    /// Its name.
    pub name: String,
    /// The roster's own key.
    pub external_id: Option<String>,
}

/// Stores new squads, in batches.
///
/// # Errors
/// `Conflict` when an id or an external id is taken.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    contents: &[SquadContent],
) -> Result<(), StoreError> {
    let now = whole_microsecond(moment.at());
    let rows = contents.iter().map(|squad| {
        (
            squads::club_id.eq(tenant.club_id()),
            squads::squad_id.eq(squad.squad_id),
            squads::name.eq(&squad.name),
            squads::external_id.eq(&squad.external_id),
            squads::version.eq(1),
            squads::created_at.eq(Sql(now)),
            squads::updated_at.eq(Sql(now)),
            squads::seq.eq(moment.next_seq()),
        )
    });
    for batch in batches(rows) {
        each_backend!(conn, |c| diesel::insert_into(squads::table)
            .values(batch)
            .execute(c))?;
    }
    Ok(())
}

/// Gives squads other names, in batches; each is given as read, with its new name.
///
/// # Errors
/// Those of the database.
pub fn rename(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    renamed: &[Squad],
) -> Result<(), StoreError> {
    let now = moment.at();
    let rows = renamed.iter().map(|squad| {
        (
            squads::club_id.eq(tenant.club_id()),
            squads::squad_id.eq(squad.squad_id),
            squads::name.eq(&squad.name),
            squads::external_id.eq(&squad.external_id),
            squads::version.eq(squad.version + 1),
            squads::created_at.eq(Sql(squad.created_at)),
            squads::updated_at.eq(Sql(now)),
            squads::seq.eq(moment.next_seq()),
        )
    });
    for batch in batches(rows) {
        each_backend!(conn, |c| diesel::insert_into(squads::table)
            .values(batch)
            .on_conflict((squads::club_id, squads::squad_id))
            .do_update()
            .set((
                squads::name.eq(excluded(squads::name)),
                squads::version.eq(excluded(squads::version)),
                squads::updated_at.eq(excluded(squads::updated_at)),
                squads::seq.eq(excluded(squads::seq)),
            ))
            .execute(c))?;
    }
    Ok(())
}

/// Changes a squad, when the version is still the one the caller saw.
///
/// # Errors
/// `NotFound` without the squad, `Conflict` when the version is stale or the external id taken.
pub fn update(
    conn: &mut Conn,
    tenant: Tenant,
    version: i32,
    moment: &mut Moment,
    content: &SquadContent,
) -> Result<Squad, StoreError> {
    let updated: Option<Squad> = each_backend!(conn, |c| diesel::update(squads::table)
        .filter(squads::club_id.eq(tenant.club_id()))
        .filter(squads::squad_id.eq(content.squad_id))
        .filter(squads::version.eq(version))
        .set((
            squads::name.eq(&content.name),
            squads::external_id.eq(&content.external_id),
            squads::version.eq(version + 1),
            squads::updated_at.eq(Sql(moment.at())),
            squads::seq.eq(moment.next_seq()),
        ))
        .returning(Squad::as_returning())
        .get_result(c)
        .optional())?;
    match updated {
        Some(squad) => Ok(squad),
        None if find(conn, tenant, content.squad_id)?.is_some() => Err(StoreError::Conflict),
        None => Err(StoreError::NotFound),
    }
}

/// A squad by id.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    squad_id: SquadId,
) -> Result<Option<Squad>, StoreError> {
    each_backend!(conn, |c| squads::table
        .filter(squads::club_id.eq(tenant.club_id()))
        .filter(squads::squad_id.eq(squad_id))
        .select(Squad::as_select())
        .first(c)
        .optional())
}

/// The squads of these external ids.
///
/// # Errors
/// Those of the database.
pub fn by_external_ids(
    conn: &mut Conn,
    tenant: Tenant,
    external_ids: &[&str],
) -> Result<Vec<Squad>, StoreError> {
    let mut found = Vec::with_capacity(external_ids.len());
    for chunk in external_ids.chunks(BATCH) {
        found.append(&mut each_backend!(conn, |c| squads::table
            .filter(squads::club_id.eq(tenant.club_id()))
            .filter(squads::external_id.eq_any(chunk))
            .order(squads::squad_id)
            .select(Squad::as_select())
            .load(c))?);
    }
    Ok(found)
}

/// A page of squads by id, after the given one; `only` restricts it to some.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    only: Option<&[SquadId]>,
    after: Option<SquadId>,
    limit: i64,
) -> Result<Vec<Squad>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = squads::table
            .filter(squads::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Some(only) = only {
            query = query.filter(squads::squad_id.eq_any(only));
        }
        if let Some(after) = after {
            query = query.filter(squads::squad_id.gt(after));
        }
        query
            .order(squads::squad_id)
            .limit(limit)
            .select(Squad::as_select())
            .load(c)
    })
}

/// Every squad of the club, by id: some dozens at most.
///
/// # Errors
/// Those of the database.
pub fn all(conn: &mut Conn, tenant: Tenant) -> Result<Vec<Squad>, StoreError> {
    page(conn, tenant, None, None, i64::MAX)
}
