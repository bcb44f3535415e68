//! Connections of either database, their pools, and transactions on them.

use std::time::Duration;

use diesel::connection::{AnsiTransactionManager, TransactionManager};
use diesel::r2d2::{HandleError, ManageConnection, Pool, PooledConnection};

use super::backend::each_backend;
use super::postgres::PostgresManager;
use super::sqlite::{Access, SqliteManager};
use super::{DatabaseUrl, StoreError, StoreSettings};

/// A pooled connection to either database; what store functions take.
pub enum Conn {
    /// The embedded database.
    Sqlite(PooledConnection<SqliteManager>),
    /// A PostgreSQL server.
    Postgres(PooledConnection<PostgresManager>),
}

impl std::fmt::Debug for Conn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Sqlite(_) => f.write_str("Conn::Sqlite"),
            Self::Postgres(link) => write!(f, "Conn::Postgres({:?})", **link),
        }
    }
}

/// How a transaction begins.
#[derive(Debug, Clone, Copy)]
pub(super) enum Mode {
    /// One consistent view of the data, and no writing.
    Snapshot,
    /// Reading and writing. On SQLite the write lock is taken at once: a transaction that reads
    /// first and asks for the lock later fails under contention without waiting.
    Write,
}

impl Conn {
    pub(super) fn begin(&mut self, mode: Mode) -> Result<(), StoreError> {
        let sql = match (&*self, mode) {
            (Self::Sqlite(_), Mode::Snapshot) => "BEGIN",
            (Self::Sqlite(_), Mode::Write) => "BEGIN IMMEDIATE",
            (Self::Postgres(_), Mode::Snapshot) => {
                "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
            }
            (Self::Postgres(_), Mode::Write) => "BEGIN",
        };
        self.set_failed(false);
        each_backend!(self, |c| AnsiTransactionManager::begin_transaction_sql(
            c, sql
        ))
    }

    /// Commits; on PostgreSQL a connection lost meanwhile leaves the outcome unknown.
    pub(super) fn commit(&mut self) -> Result<(), StoreError> {
        if self.has_failed() {
            self.rollback();
            return Err(StoreError::Internal(
                "a failed statement was passed over".to_owned(),
            ));
        }
        each_backend!(self, |c| AnsiTransactionManager::commit_transaction(c)).map_err(|error| {
            if self.is_lost() {
                StoreError::OutcomeUnknown
            } else {
                error
            }
        })
    }

    /// Rolls back. A connection that cannot is dropped by its pool, which rolls back as well.
    pub(super) fn rollback(&mut self) {
        if let Err(error) = each_backend!(self, |c| AnsiTransactionManager::rollback_transaction(c))
        {
            tracing::warn!(%error, "a transaction could not be rolled back; its connection is dropped");
        }
    }

    /// Whether the connection is gone, so that another try needs another connection.
    pub(super) fn is_lost(&self) -> bool {
        match self {
            Self::Sqlite(_) => false,
            Self::Postgres(link) => link.is_lost(),
        }
    }

    fn has_failed(&self) -> bool {
        matches!(self, Self::Postgres(link) if link.failed)
    }

    fn set_failed(&mut self, failed: bool) {
        if let Self::Postgres(link) = self {
            link.failed = failed;
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
    let failed_before = conn.has_failed();
    each_backend!(conn, |c| AnsiTransactionManager::begin_transaction(c))?;
    match work(conn) {
        Ok(value) if conn.has_failed() == failed_before => {
            each_backend!(conn, |c| AnsiTransactionManager::commit_transaction(c))?;
            Ok(value)
        }
        outcome => {
            each_backend!(conn, |c| AnsiTransactionManager::rollback_transaction(c))?;
            conn.set_failed(failed_before);
            outcome.and_then(|_| {
                Err(StoreError::Internal("a failed statement was passed over".to_owned()).into())
            })
        }
    }
}

/// Which connections a piece of work may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lane {
    Read,
    Write,
}

/// The pools of one database.
#[derive(Debug)]
pub(super) enum Pools {
    Sqlite {
        read: Pool<SqliteManager>,
        write: Pool<SqliteManager>,
    },
    Postgres(Pool<PostgresManager>),
}

impl Pools {
    pub(super) fn open(url: &DatabaseUrl, settings: &StoreSettings) -> Result<Self, StoreError> {
        match url {
            DatabaseUrl::Sqlite(path) => {
                let manager = |access| SqliteManager::new(path, settings.lock_timeout, access);
                // The writer comes first: it makes the file and switches it to WAL.
                let write = pool(manager(Access::Write), 1, settings.permit_wait)?;
                let read = pool(
                    manager(Access::Read),
                    settings.read_connections,
                    settings.permit_wait,
                )?;
                Ok(Self::Sqlite { read, write })
            }
            DatabaseUrl::Postgres(url) => {
                let connections = settings.read_connections + settings.write_connections;
                let manager = PostgresManager::new(url, *settings);
                Ok(Self::Postgres(pool(
                    manager,
                    connections,
                    settings.permit_wait,
                )?))
            }
        }
    }

    pub(super) fn connection(&self, lane: Lane) -> Result<Conn, StoreError> {
        match (self, lane) {
            (Self::Sqlite { read, .. }, Lane::Read) => read.get().map(Conn::Sqlite),
            (Self::Sqlite { write, .. }, Lane::Write) => write.get().map(Conn::Sqlite),
            (Self::Postgres(pool), _) => pool.get().map(Conn::Postgres),
        }
        .map_err(|error| StoreError::Unavailable(error.to_string()))
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
