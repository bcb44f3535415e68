//! What can go wrong in the store, told by kind and never by constraint name.
//!
//! SQLite does not say which constraint was broken, and neither database's message may reach a
//! caller; a service knows from the operation what a conflict means.

use diesel::result::{DatabaseErrorInformation, DatabaseErrorKind, Error};

/// A failed store operation.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The row to be changed is not there (or is another club's, which is the same).
    #[error("the row is not there")]
    NotFound,
    /// A row of that key exists, or the version to be replaced is not the current one.
    #[error("a row of that key exists or the version is stale")]
    Conflict,
    /// The row names an athlete, squad, flag or club that is not there.
    #[error("the row names another row that is not there")]
    Reference,
    /// No connection or lock was free within the time allowed: try again.
    #[error("the database is busy")]
    Busy,
    /// The database's disk is full; reading goes on.
    #[error("the database's disk is full")]
    StorageFull,
    /// A statement ran longer than allowed.
    #[error("a statement took longer than allowed")]
    Timeout,
    /// The database cannot be reached.
    #[error("the database cannot be reached: {0}")]
    Unavailable(String),
    /// The connection was lost, or no answer came, while the transaction was being committed: it
    /// may have been stored or not. Repeat it with the same key.
    #[error("the outcome of the transaction is unknown")]
    OutcomeUnknown,
    /// A sealed value does not open; the name is that of its column.
    #[error("a value of {0} does not open: it was changed or moved, or its key is not there")]
    NotOpened(&'static str),
    /// A fault of this program or of the database's files.
    #[error("the store failed: {0}")]
    Internal(String),
}

impl StoreError {
    /// Whether the database is at fault, and not the row or another writer.
    pub(super) fn is_of_the_database(&self) -> bool {
        matches!(
            self,
            Self::StorageFull | Self::Unavailable(_) | Self::OutcomeUnknown | Self::Internal(_)
        )
    }
}

impl From<Error> for StoreError {
    fn from(error: Error) -> Self {
        match error {
            Error::NotFound => Self::NotFound,
            Error::DatabaseError(kind, information) => from_database(&kind, information.as_ref()),
            Error::RollbackErrorOnCommit { commit_error, .. } => Self::from(*commit_error),
            other => Self::Internal(other.to_string()),
        }
    }
}

fn from_database(
    kind: &DatabaseErrorKind,
    information: &dyn DatabaseErrorInformation,
) -> StoreError {
    let message = information.message();
    match kind {
        DatabaseErrorKind::UniqueViolation => StoreError::Conflict,
        DatabaseErrorKind::ForeignKeyViolation => StoreError::Reference,
        DatabaseErrorKind::SerializationFailure => StoreError::Busy,
        DatabaseErrorKind::ClosedConnection | DatabaseErrorKind::UnableToSendCommand => {
            StoreError::Unavailable(message.to_owned())
        }
        _ => from_message(message),
    }
}

/// The errors that diesel gives no kind: it hides the SQLSTATE and SQLite's result code, so the
/// server's English message is all there is (`db::settle_language` sees to the English).
///
/// Messages: SQLite `sqlite3_errstr`; PostgreSQL 15 `postgres.c`, `proc.c` and `md.c`.
fn from_message(message: &str) -> StoreError {
    let says = |texts: &[&str]| texts.iter().any(|text| message.contains(text));
    if says(&[
        "database is locked",
        "table is locked",
        "due to lock timeout",
        "deadlock detected",
    ]) {
        StoreError::Busy
    } else if says(&["holds a row of that key"]) {
        // Our own trigger on SQLite (migration protect_audit), which comes before the key.
        StoreError::Conflict
    } else if says(&["due to statement timeout"]) {
        StoreError::Timeout
    } else if says(&["database or disk is full", "No space left on device"]) {
        StoreError::StorageFull
    } else {
        StoreError::Internal(message.to_owned())
    }
}

/// Whether the connection itself is gone, so that nothing more can be asked of it.
pub(super) fn connection_lost(error: &Error) -> bool {
    match error {
        Error::DatabaseError(kind, _) => matches!(
            kind,
            DatabaseErrorKind::ClosedConnection | DatabaseErrorKind::UnableToSendCommand
        ),
        Error::RollbackErrorOnCommit { commit_error, .. } => connection_lost(commit_error),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The texts of SQLite 3 (`sqlite3_errstr`) and PostgreSQL 15 (`postgres.c`, `md.c`,
    /// `deadlock.c`).
    #[test]
    fn messages_without_a_kind_are_told_apart() {
        let of = |message: &str| {
            let information: Box<dyn DatabaseErrorInformation + Send + Sync> =
                Box::new(message.to_owned());
            StoreError::from(Error::DatabaseError(
                DatabaseErrorKind::Unknown,
                information,
            ))
        };
        assert!(matches!(of("database is locked"), StoreError::Busy));
        assert!(matches!(
            of("canceling statement due to lock timeout"),
            StoreError::Busy
        ));
        assert!(matches!(of("deadlock detected"), StoreError::Busy));
        assert!(matches!(
            of("canceling statement due to statement timeout"),
            StoreError::Timeout
        ));
        assert!(matches!(
            of("database or disk is full"),
            StoreError::StorageFull
        ));
        let full = "could not extend file \"base/5/16384\": No space left on device";
        assert!(matches!(of(full), StoreError::StorageFull));
        assert!(matches!(
            of("syntax error at or near"),
            StoreError::Internal(_)
        ));
    }

    #[test]
    fn what_was_lost_with_the_connection_is_unavailable() {
        let closed = || {
            let information: Box<dyn DatabaseErrorInformation + Send + Sync> =
                Box::new("server closed the connection unexpectedly".to_owned());
            Error::DatabaseError(DatabaseErrorKind::ClosedConnection, information)
        };
        assert!(connection_lost(&closed()));
        let at_commit = Error::RollbackErrorOnCommit {
            rollback_error: Box::new(Error::NotInTransaction),
            commit_error: Box::new(closed()),
        };
        assert!(connection_lost(&at_commit));
        assert!(matches!(
            StoreError::from(at_commit),
            StoreError::Unavailable(_)
        ));
        assert!(!connection_lost(&Error::NotFound));
    }
}
