//! Connections to the embedded database, each with its settings read back.

use std::path::{Path, PathBuf};
use std::time::Duration;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::r2d2::{ManageConnection, R2D2Connection};
use diesel::sql_types::{BigInt, Text};

use super::StoreError;
use super::db::{Access, Mode};

/// Opens SQLite connections for a pool.
#[derive(Debug)]
pub(super) struct SqliteManager {
    path: PathBuf,
    busy_timeout: Duration,
    access: Access,
}

impl SqliteManager {
    pub(super) fn new(path: &Path, busy_timeout: Duration, access: Access) -> Self {
        Self {
            path: path.to_owned(),
            busy_timeout,
            access,
        }
    }
}

impl ManageConnection for SqliteManager {
    type Connection = SqliteConnection;
    type Error = StoreError;

    fn connect(&self) -> Result<SqliteConnection, StoreError> {
        let mut conn = open(&self.path)?;
        let wanted = Pragmas::wanted(self.busy_timeout, self.access);
        conn.batch_execute(&wanted.statements())?;
        let got = Pragmas::read(&mut conn)?;
        if got == wanted {
            Ok(conn)
        } else {
            Err(StoreError::Internal(format!(
                "SQLite refused its settings: {got:?}"
            )))
        }
    }

    fn is_valid(&self, _: &mut SqliteConnection) -> Result<(), StoreError> {
        Ok(())
    }

    fn has_broken(&self, conn: &mut SqliteConnection) -> bool {
        std::thread::panicking() || conn.is_broken()
    }
}

/// Opens the file, making it readable by its owner alone when it is new: it holds minors' data.
pub(super) fn open(path: &Path) -> Result<SqliteConnection, StoreError> {
    let unavailable =
        |error: String| StoreError::Unavailable(format!("{}: {error}", path.display()));
    make(path).map_err(|error| unavailable(error.to_string()))?;
    let name = path
        .to_str()
        .ok_or_else(|| unavailable("the path is not UTF-8".to_owned()))?;
    SqliteConnection::establish(name).map_err(|error| unavailable(error.to_string()))
}

/// Makes the file unless it is there. One that is there must not even be opened here: closing it again
/// would drop the locks that SQLite holds on it for this process, and the next program to close the
/// database would take the write-ahead log away from under us (SQLite documentation, "How To Corrupt An
/// SQLite Database File", 2.2).
fn make(path: &Path) -> std::io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Err(error) if error.kind() != std::io::ErrorKind::AlreadyExists => Err(error),
        _ => Ok(()),
    }
}

/// How a transaction begins. For writing the lock is taken at once: a transaction that reads first and asks for the lock later
/// fails under contention without waiting.
pub(super) fn begin(mode: Mode) -> &'static str {
    match mode {
        Mode::Snapshot => "BEGIN",
        Mode::Write => "BEGIN IMMEDIATE",
    }
}

/// The settings every connection must have.
///
/// `synchronous` 2 is FULL: with NORMAL a power cut loses acknowledged commits. `secure_delete`
/// overwrites what is erased. The write-ahead log is cut back to 64 MiB after a checkpoint.
#[derive(Debug, PartialEq, Eq, QueryableByName)]
pub(super) struct Pragmas {
    #[diesel(sql_type = Text)]
    journal_mode: String,
    #[diesel(sql_type = BigInt)]
    synchronous: i64,
    #[diesel(sql_type = BigInt)]
    foreign_keys: i64,
    #[diesel(sql_type = BigInt)]
    busy_timeout: i64,
    #[diesel(sql_type = BigInt)]
    secure_delete: i64,
    #[diesel(sql_type = BigInt)]
    journal_size_limit: i64,
    #[diesel(sql_type = BigInt)]
    query_only: i64,
}

impl Pragmas {
    fn wanted(busy_timeout: Duration, access: Access) -> Self {
        Self {
            journal_mode: "wal".to_owned(),
            synchronous: 2,
            foreign_keys: 1,
            busy_timeout: i64::try_from(busy_timeout.as_millis()).unwrap_or(i64::MAX),
            secure_delete: 1,
            journal_size_limit: 64 << 20,
            query_only: i64::from(access == Access::Read),
        }
    }

    /// `busy_timeout` comes first, because switching to WAL may itself have to wait for a lock.
    fn statements(&self) -> String {
        format!(
            "PRAGMA busy_timeout = {}; PRAGMA journal_mode = {}; PRAGMA synchronous = {}; \
             PRAGMA foreign_keys = {}; PRAGMA secure_delete = {}; PRAGMA journal_size_limit = {}; \
             PRAGMA query_only = {};",
            self.busy_timeout,
            self.journal_mode,
            self.synchronous,
            self.foreign_keys,
            self.secure_delete,
            self.journal_size_limit,
            self.query_only
        )
    }

    fn read(conn: &mut SqliteConnection) -> Result<Self, StoreError> {
        let query = "SELECT \
             (SELECT journal_mode FROM pragma_journal_mode) AS journal_mode, \
             (SELECT synchronous FROM pragma_synchronous) AS synchronous, \
             (SELECT foreign_keys FROM pragma_foreign_keys) AS foreign_keys, \
             (SELECT timeout FROM pragma_busy_timeout) AS busy_timeout, \
             (SELECT secure_delete FROM pragma_secure_delete) AS secure_delete, \
             (SELECT journal_size_limit FROM pragma_journal_size_limit) AS journal_size_limit, \
             (SELECT query_only FROM pragma_query_only) AS query_only";
        diesel::sql_query(query)
            .get_result(conn)
            .map_err(StoreError::from)
    }
}
