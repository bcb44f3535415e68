//! Connections to PostgreSQL, each with its time limits, and what happens when one is lost.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::r2d2::{ManageConnection, R2D2Connection};
use diesel::result::Error;

use super::error::connection_lost;
use super::{StoreError, StoreSettings};

/// Opens PostgreSQL connections for a pool.
///
/// When one connection turns out to be lost (the server was restarted, or another took over), all
/// older ones are thrown away on their next use: a generation number says so without asking the
/// server before each request.
#[derive(Debug)]
pub struct PostgresManager {
    url: String,
    settings: StoreSettings,
    generation: Arc<AtomicU64>,
}

impl PostgresManager {
    pub(super) fn new(url: &str, settings: StoreSettings) -> Self {
        Self {
            url: with_defaults(url),
            settings,
            generation: Arc::default(),
        }
    }
}

impl ManageConnection for PostgresManager {
    type Connection = PostgresLink;
    type Error = StoreError;

    fn connect(&self) -> Result<PostgresLink, StoreError> {
        let born = self.generation.load(Ordering::Relaxed);
        let mut conn = open(&self.url)?;
        conn.batch_execute(&limits(&self.settings))?;
        settle_language(&mut conn);
        let generation = Arc::clone(&self.generation);
        Ok(PostgresLink {
            conn,
            born,
            generation,
            lost: false,
            failed: false,
        })
    }

    fn is_valid(&self, link: &mut PostgresLink) -> Result<(), StoreError> {
        if link.born == self.generation.load(Ordering::Relaxed) {
            Ok(())
        } else {
            Err(StoreError::Unavailable(
                "the connection is older than a loss".to_owned(),
            ))
        }
    }

    fn has_broken(&self, link: &mut PostgresLink) -> bool {
        std::thread::panicking() || link.lost || link.conn.is_broken()
    }
}

/// A connection and what is known of its state.
pub struct PostgresLink {
    conn: PgConnection,
    born: u64,
    generation: Arc<AtomicU64>,
    lost: bool,
    /// A statement failed, so the open transaction can only be rolled back: PostgreSQL answers a
    /// COMMIT then with a silent ROLLBACK, which must not pass for success.
    pub(super) failed: bool,
}

impl std::fmt::Debug for PostgresLink {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PostgresLink")
            .field("lost", &self.lost)
            .finish_non_exhaustive()
    }
}

impl PostgresLink {
    /// The connection to send a statement on.
    pub(super) fn connection(&mut self) -> &mut PgConnection {
        &mut self.conn
    }

    /// Takes note of what a statement's error says about the connection.
    pub(super) fn settle<T>(&mut self, result: QueryResult<T>) -> Result<T, StoreError> {
        result.map_err(|error| {
            if connection_lost(&error) && !self.lost {
                self.lost = true;
                self.generation.fetch_add(1, Ordering::Relaxed);
            }
            self.failed |= matches!(error, Error::DatabaseError(..));
            StoreError::from(error)
        })
    }

    /// Whether the connection is gone.
    pub(super) fn is_lost(&self) -> bool {
        self.lost
    }
}

/// Opens a connection without limits (migrations may take their time).
pub(super) fn open(url: &str) -> Result<PgConnection, StoreError> {
    PgConnection::establish(url).map_err(|error| StoreError::Unavailable(error.to_string()))
}

/// Adds the connection parameters that the operator did not set: give up on a silent server after
/// 2 s at connect and 10 s later, and carry the program's name.
pub(super) fn with_defaults(url: &str) -> String {
    const DEFAULTS: [(&str, &str); 4] = [
        ("connect_timeout", "2"),
        ("tcp_user_timeout", "10000"),
        ("keepalives_idle", "10"),
        ("application_name", "plimsoll"),
    ];
    let mut url = url.to_owned();
    for (name, value) in DEFAULTS {
        if !url.contains(&format!("{name}=")) {
            let separator = if url.contains('?') { '&' } else { '?' };
            url = format!("{url}{separator}{name}={value}");
        }
    }
    url
}

fn limits(settings: &StoreSettings) -> String {
    format!(
        "SET statement_timeout = {}; SET lock_timeout = {}; \
         SET idle_in_transaction_session_timeout = 10000; SET TIME ZONE 'UTC';",
        settings.statement_timeout.as_millis(),
        settings.lock_timeout.as_millis()
    )
}

/// Asks for English messages, from which some errors are told apart (`error::from_message`).
/// Only a privileged role may ask; for another the operator sets it once (`ALTER ROLE … SET`).
pub(super) fn settle_language(conn: &mut PgConnection) {
    if conn.batch_execute("SET lc_messages = 'C'").is_ok() {
        return;
    }
    let language = diesel::select(diesel::dsl::sql::<diesel::sql_types::Text>(
        "current_setting('lc_messages')",
    ))
    .get_result::<String>(conn)
    .unwrap_or_default();
    if !["C", "POSIX", "en"]
        .iter()
        .any(|english| language.starts_with(english))
    {
        tracing::warn!(
            lc_messages = language,
            "the database's messages are not English: time limits and a full disk are reported as internal errors; set lc_messages to C for this role"
        );
    }
}
