//! Connections to PostgreSQL, each with its time limits, and what happens when one is lost.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::r2d2::{ManageConnection, R2D2Connection};

use super::db::{Access, Mode};
use super::{Clubs, StoreError, StoreSettings, Tenant};

/// Opens PostgreSQL connections for a pool.
///
/// When one connection turns out to be lost (the server was restarted, or another took over), all
/// older ones are thrown away on their next use: a generation number says so without asking the
/// server before each request.
#[derive(Debug)]
pub(super) struct PostgresManager {
    url: String,
    session: String,
    generation: Arc<AtomicU64>,
}

impl PostgresManager {
    pub(super) fn new(
        url: &str,
        settings: &StoreSettings,
        access: Access,
        generation: Arc<AtomicU64>,
    ) -> Self {
        Self {
            url: with_defaults(url),
            session: session(settings, access),
            generation,
        }
    }
}

impl ManageConnection for PostgresManager {
    type Connection = PostgresLink;
    type Error = StoreError;

    fn connect(&self) -> Result<PostgresLink, StoreError> {
        let born = self.generation.load(Ordering::Relaxed);
        let mut conn = open(&self.url)?;
        conn.batch_execute(&self.session)?;
        settle_language(&mut conn);
        Ok(PostgresLink {
            conn,
            born,
            generation: Arc::clone(&self.generation),
            lost: false,
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

/// A connection, and whether it is known to be gone.
pub(super) struct PostgresLink {
    pub(super) conn: PgConnection,
    born: u64,
    generation: Arc<AtomicU64>,
    lost: bool,
}

impl PostgresLink {
    /// Gives this connection up, and with it all older ones.
    pub(super) fn lose(&mut self) {
        self.lost = true;
        // Several connections of one generation that are lost together count as one loss.
        let (born, next) = (self.born, self.born + 1);
        let _ = self
            .generation
            .compare_exchange(born, next, Ordering::Relaxed, Ordering::Relaxed);
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

/// What a pooled connection is told first: its time limits, and whether it may write.
fn session(settings: &StoreSettings, access: Access) -> String {
    #[cfg(any(test, feature = "testing"))]
    let path = match settings.reads_unfiltered && access == Access::Read {
        true => "SET search_path = unfiltered, public; ",
        false => "",
    };
    #[cfg(not(any(test, feature = "testing")))]
    let path = "";
    format!(
        "{path}SET statement_timeout = {}; SET lock_timeout = {}; \
         SET idle_in_transaction_session_timeout = 10000; SET TIME ZONE 'UTC'; \
         SET default_transaction_read_only = {};",
        settings.statement_timeout.as_millis(),
        settings.lock_timeout.as_millis(),
        if access == Access::Read { "on" } else { "off" }
    )
}

/// How a transaction begins, with what the tables' policies (`club_wall`) let it touch. `SET LOCAL` ends with the transaction, so
/// the next user of a pooled connection begins with nothing.
pub(super) fn begin(mode: Mode, clubs: Clubs) -> String {
    let begin = match mode {
        Mode::Snapshot => "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
        Mode::Write => "BEGIN",
    };
    let one = |tenant: Tenant| format!("SET LOCAL plimsoll.club = '{}'", tenant.club_id());
    match clubs {
        Clubs::One(tenant) => format!("{begin}; {}", one(tenant)),
        Clubs::Two(tenant, beside) => format!(
            "{begin}; {}; SET LOCAL plimsoll.beside = '{}'",
            one(tenant),
            beside.club_id()
        ),
        Clubs::Every => format!("{begin}; SET LOCAL plimsoll.every_club = 'on'"),
    }
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
