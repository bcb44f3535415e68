//! What a directory says of somebody, or of a squad, beside the roster.

use super::schema::directory_entries;
use super::versioned::prelude::*;
use crate::ids::{AthleteId, DirectoryEntryId, SquadId};

/// Somebody, or a squad. Of an athlete and of a squad the id is theirs, and what the roster's own tables say is not repeated.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = directory_entries, treat_none_as_default_value = false)]
pub struct Entry {
    /// Its id.
    pub entry_id: DirectoryEntryId,
    /// The athlete, once she is or was one.
    pub athlete_id: Option<AthleteId>,
    /// The squad, where it is about one.
    pub squad_id: Option<SquadId>,
    /// What the directory knows somebody by.
    pub user_name: Option<String>,
    /// The same in lower case.
    pub user_name_key: Option<String>,
    /// The directory's key of somebody who is no athlete.
    pub external_id: Option<String>,
    /// The name of somebody who is no athlete.
    pub display_name: Option<String>,
    /// What somebody is in the club, with commas between.
    pub roles: String,
    /// Whether she is still there.
    pub active: bool,
}

versioned!(directory_entries, entry_id: DirectoryEntryId, Entry, pub fn insert);

/// Every current entry of a person, deleted ones too, by id.
///
/// # Errors
/// Those of the database.
pub fn of_people(conn: &mut Conn, tenant: Tenant) -> Result<Vec<Versioned<Entry>>, StoreError> {
    each_backend!(conn, |c| directory_entries::table
        .filter(directory_entries::club_id.eq(tenant.club_id()))
        .filter(directory_entries::superseded_at.is_null())
        .filter(directory_entries::squad_id.is_null())
        .order(directory_entries::entry_id)
        .select((Entry::as_select(), version_columns!(directory_entries)))
        .load(c))
}

/// The undeleted entry of somebody whom the directory knows by this, in lower case.
///
/// # Errors
/// Those of the database.
pub fn by_user_name(
    conn: &mut Conn,
    tenant: Tenant,
    key: &str,
) -> Result<Option<Versioned<Entry>>, StoreError> {
    each_backend!(conn, |c| directory_entries::table
        .filter(directory_entries::club_id.eq(tenant.club_id()))
        .filter(directory_entries::user_name_key.eq(key))
        .filter(directory_entries::superseded_at.is_null())
        .filter(not(directory_entries::deleted))
        .select((Entry::as_select(), version_columns!(directory_entries)))
        .first(c)
        .optional())
}

/// The undeleted entry of somebody who is no athlete, by the directory's key.
///
/// # Errors
/// Those of the database.
pub fn by_external_id(
    conn: &mut Conn,
    tenant: Tenant,
    external_id: &str,
) -> Result<Option<Versioned<Entry>>, StoreError> {
    each_backend!(conn, |c| directory_entries::table
        .filter(directory_entries::club_id.eq(tenant.club_id()))
        .filter(directory_entries::external_id.eq(external_id))
        .filter(directory_entries::superseded_at.is_null())
        .filter(not(directory_entries::deleted))
        .select((Entry::as_select(), version_columns!(directory_entries)))
        .first(c)
        .optional())
}
