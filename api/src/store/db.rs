//! Connections of either database, their pools, and transactions on them.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use diesel::connection::{AnsiTransactionManager, TransactionManager};
use diesel::r2d2::{HandleError, ManageConnection, Pool, PooledConnection};
use diesel::result::Error;

use super::backend::each_backend;
use super::error::connection_lost;
use super::postgres::{self, PostgresManager};
use super::seal::{ClubKeys, MasterKeys};
use super::sqlite::{self, SqliteManager};
use super::{Clubs, DatabaseUrl, StoreError, StoreSettings};
use crate::ids::ClubId;

/// What a pool's connections may do. One that may only read refuses to write, on both databases.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Access {
    Read,
    Write,
}

/// A connection to either database; what store functions take.
pub struct Conn {
    pub(super) link: Link,
    /// A statement failed, so the open transaction can only be rolled back. PostgreSQL answers a
    /// COMMIT then with a silent ROLLBACK, and SQLite would keep half of the work: neither may
    /// pass for success.
    failed: bool,
    /// A statement failed because of the database, not of what it was asked.
    troubled: bool,
    /// What clubs' keys are wrapped with.
    pub(super) masters: Arc<MasterKeys>,
    /// The keys of clubs that this work has needed; forgotten when it ends.
    pub(super) keys: BTreeMap<ClubId, Arc<ClubKeys>>,
}

/// The one or the other.
pub(super) enum Link {
    Sqlite(PooledConnection<SqliteManager>),
    Postgres(PooledConnection<PostgresManager>),
}

impl std::fmt::Debug for Conn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let database = match self.link {
            Link::Sqlite(_) => "SQLite",
            Link::Postgres(_) => "PostgreSQL",
        };
        f.debug_struct("Conn")
            .field("to", &database)
            .field("failed", &self.failed)
            .finish()
    }
}

/// What a transaction is for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Mode {
    /// One consistent view of the data, and no writing.
    Snapshot,
    /// Reading and writing.
    Write,
}

impl Conn {
    fn new(link: Link, masters: &Arc<MasterKeys>) -> Self {
        Self {
            link,
            failed: false,
            troubled: false,
            masters: Arc::clone(masters),
            keys: BTreeMap::new(),
        }
    }

    /// Takes note of what a statement's error says about the transaction and the connection.
    pub(super) fn settle<T>(&mut self, result: Result<T, Error>) -> Result<T, StoreError> {
        result.map_err(|error| {
            self.failed |= matches!(error, Error::DatabaseError(..));
            if let (true, Link::Postgres(link)) = (connection_lost(&error), &mut self.link) {
                link.lose();
            }
            let error = StoreError::from(error);
            self.troubled |= error.is_of_the_database();
            error
        })
    }

    /// Whether the database itself was at fault since the transaction began.
    pub(super) fn is_troubled(&self) -> bool {
        self.troubled
    }

    /// Whether the connection is gone, so that another try needs another connection.
    pub(super) fn is_lost(&self) -> bool {
        matches!(&self.link, Link::Postgres(link) if link.is_lost())
    }

    /// Begins a transaction that may touch `clubs`.
    pub(super) fn begin(&mut self, mode: Mode, clubs: Clubs) -> Result<(), StoreError> {
        let sql = match &self.link {
            Link::Sqlite(_) => sqlite::begin(mode).to_owned(),
            Link::Postgres(_) => postgres::begin(mode, clubs),
        };
        (self.failed, self.troubled) = (false, false);
        each_backend!(self, |c| AnsiTransactionManager::begin_transaction_sql(
            c, &sql
        ))
    }

    /// An error where a statement of the transaction failed and the work went on all the same.
    pub(super) fn nothing_passed_over(&self) -> Result<(), StoreError> {
        if self.failed {
            Err(passed_over())
        } else {
            Ok(())
        }
    }

    /// Commits; a connection lost meanwhile leaves the outcome unknown.
    pub(super) fn commit(&mut self) -> Result<(), StoreError> {
        if let Err(error) = self.nothing_passed_over() {
            self.rollback();
            return Err(error);
        }
        let committed = each_backend!(self, |c| AnsiTransactionManager::commit_transaction(c));
        if self.is_lost() {
            Err(StoreError::OutcomeUnknown)
        } else {
            committed
        }
    }

    /// Rolls back. A connection that cannot is dropped by its pool, which rolls back as well.
    pub(super) fn rollback(&mut self) {
        let rolled_back = each_backend!(self, |c| AnsiTransactionManager::rollback_transaction(c));
        if let Err(error) = rolled_back {
            tracing::warn!(%error, "a transaction could not be rolled back; its connection is dropped");
        }
    }
}

/// Runs `work` so that its effects can be undone alone while the transaction around it goes on:
/// kept when it answers `Ok`, undone when it answers `Err`.
///
/// # Errors
/// Those of `work`, and those of the savepoint itself.
pub fn savepoint<T, E: From<StoreError>>(
    conn: &mut Conn,
    work: impl FnOnce(&mut Conn) -> Result<T, E>,
) -> Result<T, E> {
    let failed_before = conn.failed;
    each_backend!(conn, |c| AnsiTransactionManager::begin_transaction(c))?;
    let outcome = match work(conn) {
        Ok(_) if conn.failed && !failed_before => Err(passed_over().into()),
        outcome => outcome,
    };
    if outcome.is_ok() {
        each_backend!(conn, |c| AnsiTransactionManager::commit_transaction(c))?;
        return outcome;
    }
    // A key that the work has made is undone with it.
    conn.keys.clear();
    match each_backend!(conn, |c| AnsiTransactionManager::rollback_transaction(c)) {
        Ok(()) => conn.failed = failed_before,
        // SQLite undoes the whole transaction by itself when the disk is full: the error of the
        // work says why, and the transaction can no longer be committed.
        Err(error) => tracing::warn!(%error, "a savepoint could not be rolled back"),
    }
    outcome
}

fn passed_over() -> StoreError {
    StoreError::Internal("a failed statement was passed over".to_owned())
}

/// The pools of one database, and what their connections open clubs' keys with.
#[derive(Debug)]
pub(super) struct Pools {
    links: Links,
    masters: Arc<MasterKeys>,
}

#[derive(Debug)]
enum Links {
    Sqlite {
        read: Pool<SqliteManager>,
        write: Pool<SqliteManager>,
    },
    Postgres {
        read: Pool<PostgresManager>,
        write: Pool<PostgresManager>,
    },
}

impl Pools {
    /// Opens both pools.
    pub(super) fn open(
        url: &DatabaseUrl,
        settings: &StoreSettings,
        masters: MasterKeys,
    ) -> Result<Self, StoreError> {
        let links = Links::open(url, settings)?;
        Ok(Self {
            links,
            masters: Arc::new(masters),
        })
    }

    /// How many connections may write at once.
    pub(super) fn writers(&self) -> u32 {
        match &self.links {
            Links::Sqlite { write, .. } => write.max_size(),
            Links::Postgres { write, .. } => write.max_size(),
        }
    }

    pub(super) fn connection(&self, access: Access) -> Result<Conn, StoreError> {
        self.links
            .link(access)
            .map(|link| Conn::new(link, &self.masters))
            .map_err(|error| StoreError::Unavailable(error.to_string()))
    }
}

impl Links {
    /// The writer comes first: on SQLite it makes the file and switches it to WAL.
    fn open(url: &DatabaseUrl, settings: &StoreSettings) -> Result<Self, StoreError> {
        let (reads, wait) = (settings.read_connections, settings.connect_wait);
        match url {
            DatabaseUrl::Sqlite(path) => {
                let manager = |access| SqliteManager::new(path, settings.lock_timeout, access);
                let write = pool(manager(Access::Write), 1, wait)?;
                let read = pool(manager(Access::Read), reads, wait)?;
                Ok(Self::Sqlite { read, write })
            }
            DatabaseUrl::Postgres(url) => {
                let generation = Arc::default();
                let manager =
                    |access| PostgresManager::new(url, settings, access, Arc::clone(&generation));
                let write = pool(manager(Access::Write), settings.write_connections, wait)?;
                let read = pool(manager(Access::Read), reads, wait)?;
                Ok(Self::Postgres { read, write })
            }
        }
    }

    fn link(&self, access: Access) -> Result<Link, diesel::r2d2::PoolError> {
        match (self, access) {
            (Self::Sqlite { read, .. }, Access::Read) => read.get().map(Link::Sqlite),
            (Self::Sqlite { write, .. }, Access::Write) => write.get().map(Link::Sqlite),
            (Self::Postgres { read, .. }, Access::Read) => read.get().map(Link::Postgres),
            (Self::Postgres { write, .. }, Access::Write) => write.get().map(Link::Postgres),
        }
    }
}

/// A pool that has shown once that it can connect, so that a wrong URL fails at start.
fn pool<M>(manager: M, connections: u32, wait: Duration) -> Result<Pool<M>, StoreError>
where
    M: ManageConnection<Error = StoreError>,
{
    drop(manager.connect()?);
    Ok(Pool::builder()
        .max_size(connections.max(1))
        .min_idle(Some(1))
        .connection_timeout(wait)
        .error_handler(Box::new(LogPoolError))
        .build_unchecked(manager))
}

#[derive(Debug)]
struct LogPoolError;

impl HandleError<StoreError> for LogPoolError {
    fn handle_error(&self, error: StoreError) {
        tracing::warn!(%error, "the connection pool");
    }
}
