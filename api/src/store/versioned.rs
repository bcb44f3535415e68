//! Inputs are never overwritten: a change appends the next version and closes the one before.
//!
//! So every earlier state of knowledge is a query: a version was known at an instant when it had
//! been received by then and not yet been superseded. Deleting appends a version too, marked as
//! deleted. Queries say `not(deleted)`, in the words of the partial indexes: compared with a bound value,
//! SQLite plans the statement anew for each execution.

use diesel::prelude::*;
use jiff::Timestamp;

use super::StoreError;
use super::types::Sql;

/// What the functions made by `versioned!` are written with.
pub(super) mod prelude {
    pub(in crate::store) use super::super::backend::{
        BATCH, batches, each_backend, insert_rows, sorted_chunks,
    };
    pub(in crate::store) use super::super::seal::{self, Kept, kept_as_it_is};
    pub(in crate::store) use super::super::types::Sql;
    pub(in crate::store) use super::super::{Conn, Moment, StoreError, Tenant};
    pub(in crate::store) use super::{Author, Change, Known, Versioned};
    pub(in crate::store) use super::{known, must_replace, version_columns, versioned};
    pub(in crate::store) use diesel::dsl::not;
    pub(in crate::store) use diesel::prelude::*;
}

/// A content and the version it is.
#[derive(Debug, Clone, PartialEq, Eq, Queryable)]
pub struct Versioned<T> {
    /// What was said.
    pub content: T,
    /// Which version it is, since when and by whom.
    pub version: Version,
}

/// What every versioned row carries beside its content.
#[derive(Debug, Clone, PartialEq, Eq, Queryable)]
pub struct Version {
    /// 1, 2, 3, …
    pub number: i32,
    /// When the service received it.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
    /// When the next version was received; `None` while it is the current one.
    #[diesel(deserialize_as = Sql<Option<Timestamp>>)]
    pub superseded_at: Option<Timestamp>,
    /// Its place in the club's sequence of changes.
    pub seq: i64,
    /// Who sent it (the token's subject).
    pub author: String,
    /// In which role.
    pub acting_role: String,
    /// Whether it says that the thing is deleted.
    pub deleted: bool,
}

/// Who makes a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Author<'a> {
    /// The token's subject, or the command line's.
    pub subject: &'a str,
    /// The role acted in.
    pub acting_role: &'a str,
}

/// The next version of something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change<T> {
    /// The version it replaces, which must be the current one.
    pub replaces: i32,
    /// The new content.
    pub content: T,
    /// Whether it deletes the thing (the content then says what was deleted).
    pub deleted: bool,
}

impl<T> Change<T> {
    /// The version that deletes the thing, its content as it stood.
    pub fn tombstone(current: Versioned<T>) -> Self {
        Self {
            replaces: current.version.number,
            content: current.content,
            deleted: true,
        }
    }
}

/// Which state of knowledge to read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// What is known now.
    Now,
    /// What had been received by this instant.
    AsOf(Timestamp),
}

/// Narrows a boxed query to the versions of a state of knowledge.
macro_rules! known {
    ($table:ident, $query:expr, $known:expr) => {
        match $known {
            Known::Now => $query.filter($table::superseded_at.is_null()),
            Known::AsOf(instant) => $query.filter($table::received_at.le(Sql(instant))).filter(
                $table::superseded_at
                    .is_null()
                    .or($table::superseded_at.gt(Sql(instant))),
            ),
        }
    };
}
pub(super) use known;

/// The columns of [`Version`] in a table.
macro_rules! version_columns {
    ($table:ident) => {
        (
            $table::version,
            $table::received_at,
            $table::superseded_at,
            $table::seq,
            $table::author,
            $table::acting_role,
            $table::deleted,
        )
    };
}
pub(super) use version_columns;

/// The functions that every versioned table has, for one table, its key, its content, and the name
/// of the function that stores first versions; where something in it is private, also the row that it is kept as.
/// The module that calls it imports [`prelude`].
macro_rules! versioned {
    ($table:ident, $key:ident: $Key:ty, $Content:ident, $visibility:vis fn $insert:ident) => {
        kept_as_it_is!($Content);
        versioned!($table, $key: $Key, $Content kept as $Content, $visibility fn $insert);
    };
    ($table:ident, $key:ident: $Key:ty, $Content:ident kept as $Row:ident, $visibility:vis fn $insert:ident) => {
        /// Stores first versions, in batches.
        ///
        /// # Errors
        /// `Conflict` when one exists already, `Reference` when one names a missing row.
        $visibility fn $insert(
            conn: &mut Conn,
            tenant: Tenant,
            moment: &mut Moment,
            author: Author<'_>,
            contents: &[$Content],
        ) -> Result<(), StoreError> {
            let versions = contents.iter().map(|content| (content, 1, false));
            append(conn, tenant, moment, author, versions)
        }

        /// Stores next versions and closes the ones they replace, in batches.
        ///
        /// # Errors
        /// `NotFound` when there is nothing to replace, `Conflict` when the version to be replaced
        /// is not the current one.
        pub fn supersede(
            conn: &mut Conn,
            tenant: Tenant,
            moment: &mut Moment,
            author: Author<'_>,
            changes: &[Change<$Content>],
        ) -> Result<(), StoreError> {
            for chunk in changes.chunks(BATCH) {
                let keys: Vec<$Key> = chunk.iter().map(|change| change.content.$key).collect();
                let closed: Vec<($Key, i32)> =
                    each_backend!(conn, |c| diesel::update($table::table)
                        .filter($table::club_id.eq(tenant.club_id()))
                        .filter($table::$key.eq_any(&keys))
                        .filter($table::superseded_at.is_null())
                        .set($table::superseded_at.eq(Sql(moment.at())))
                        .returning(($table::$key, $table::version))
                        .get_results(c))?;
                let closed = closed.into_iter().collect();
                for change in chunk {
                    must_replace(&closed, &change.content.$key, change.replaces)?;
                }
            }
            let versions = changes
                .iter()
                .map(|change| (&change.content, change.replaces + 1, change.deleted));
            append(conn, tenant, moment, author, versions)
        }

        fn append<'a>(
            conn: &mut Conn,
            tenant: Tenant,
            moment: &mut Moment,
            author: Author<'_>,
            versions: impl Iterator<Item = (&'a $Content, i32, bool)>,
        ) -> Result<(), StoreError> {
            for batch in batches(versions) {
                let contents = batch.iter().map(|(content, ..)| *content);
                let keys = seal::for_sealing::<$Row>(conn, tenant, contents)?;
                let rows = batch.into_iter().map(|(content, number, deleted)| {
                    Ok((
                        $table::club_id.eq(tenant.club_id()),
                        <$Row as Kept>::seal(content, &keys)?,
                        $table::version.eq(number),
                        $table::received_at.eq(Sql(moment.at())),
                        $table::seq.eq(moment.next_seq()),
                        $table::author.eq(author.subject),
                        $table::acting_role.eq(author.acting_role),
                        $table::deleted.eq(deleted),
                    ))
                });
                let rows = rows.collect::<Result<Vec<_>, StoreError>>()?;
                insert_rows!(conn, rows, |rows| diesel::insert_into($table::table).values(rows))?;
            }
            Ok(())
        }

        /// The current version, even when it says "deleted".
        ///
        /// # Errors
        /// Those of the database.
        pub fn current(
            conn: &mut Conn,
            tenant: Tenant,
            key: $Key,
        ) -> Result<Option<Versioned<$Content>>, StoreError> {
            Ok(current_many(conn, tenant, &[key])?.pop())
        }

        /// The current versions of several, in the order of their keys; absent ones are left out.
        ///
        /// # Errors
        /// Those of the database.
        pub fn current_many(
            conn: &mut Conn,
            tenant: Tenant,
            keys: &[$Key],
        ) -> Result<Vec<Versioned<$Content>>, StoreError> {
            let mut found = Vec::with_capacity(keys.len());
            for chunk in sorted_chunks(keys) {
                found.append(&mut each_backend!(conn, |c| $table::table
                    .filter($table::club_id.eq(tenant.club_id()))
                    .filter($table::$key.eq_any(&chunk))
                    .filter($table::superseded_at.is_null())
                    .order($table::$key)
                    .select((<$Row>::as_select(), version_columns!($table)))
                    .load(c))?);
            }
            seal::opened_versions::<$Row>(conn, tenant, found)
        }

        /// Every version, the first one first; empty when there is none.
        ///
        /// # Errors
        /// Those of the database.
        pub fn history(
            conn: &mut Conn,
            tenant: Tenant,
            key: $Key,
        ) -> Result<Vec<Versioned<$Content>>, StoreError> {
            let found = each_backend!(conn, |c| $table::table
                .filter($table::club_id.eq(tenant.club_id()))
                .filter($table::$key.eq(key))
                .order($table::version)
                .select((<$Row>::as_select(), version_columns!($table)))
                .load(c))?;
            seal::opened_versions::<$Row>(conn, tenant, found)
        }
    };
}
pub(super) use versioned;

/// Checks that the version closed is the one the change meant to replace.
pub(super) fn must_replace<K: Ord>(
    closed: &std::collections::BTreeMap<K, i32>,
    key: &K,
    replaces: i32,
) -> Result<(), StoreError> {
    match closed.get(key) {
        None => Err(StoreError::NotFound),
        Some(number) if *number == replaces => Ok(()),
        Some(_) => Err(StoreError::Conflict),
    }
}
