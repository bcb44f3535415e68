//! A week's close that does not come to its end: it has judged its flags and waits while it writes its notice.

use std::process::{Command, Stdio};

use crate::held::Held;
use crate::rows::rows;
use crate::until::until;

/// Keeps every close from its end. Dropped, the next one is free; on SQLite the one that waits has to be killed before.
pub struct HeldClose {
    database_url: String,
    /// Another program's lock, on PostgreSQL.
    lock: Option<Held>,
}

/// On SQLite, where nobody can get between the statements of a writer, the notice itself takes for ever.
const ENDLESS: &str = "CREATE TRIGGER held_close BEFORE INSERT ON notices BEGIN \
     SELECT count(*) FROM (WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i FROM n); END";

/// On PostgreSQL, who waits for the lock says so.
const WAITING: &str = "SELECT count(*) FROM pg_locks WHERE NOT granted AND relation = 'notices'::regclass \
     AND database = (SELECT oid FROM pg_database WHERE datname = current_database())";

impl HeldClose {
    pub(crate) fn of(database_url: &str) -> Self {
        let on_sqlite = database_url.starts_with("sqlite://");
        if on_sqlite {
            rows(&[], database_url, ENDLESS);
        }
        Self {
            lock: (!on_sqlite).then(|| Held::of_tables(database_url, "notices")),
            database_url: database_url.to_owned(),
        }
    }

    /// Waits until a close is held.
    ///
    /// # Panics
    /// When none is.
    pub async fn is_under_way(&self) {
        until(async || {
            let held = match self.database_url.strip_prefix("sqlite://") {
                Some(path) => is_written_to_for_long(path),
                None => rows(&[], &self.database_url, WAITING) != [["0"]],
            };
            held.then_some(()).ok_or("no close is under way")
        })
        .await;
    }
}

impl Drop for HeldClose {
    fn drop(&mut self) {
        if self.lock.take().is_none() && !std::thread::panicking() {
            rows(&[], &self.database_url, "DROP TRIGGER held_close");
        }
    }
}

/// Whether somebody else holds the file for writing, a quarter of a second long: so long nothing else takes.
fn is_written_to_for_long(path: &str) -> bool {
    let script = "import sqlite3, sys, time\n\
        database = sqlite3.connect(sys.argv[1], isolation_level=None, timeout=0)\n\
        for _ in range(25):\n\
        \x20   try:\n\
        \x20       database.execute('BEGIN IMMEDIATE')\n\
        \x20   except sqlite3.OperationalError:\n\
        \x20       time.sleep(0.01)\n\
        \x20   else:\n\
        \x20       database.execute('ROLLBACK')\n\
        \x20       sys.exit(1)\n";
    let tried = Command::new("python3")
        .args(["-c", script, path])
        .stdin(Stdio::null())
        .status();
    tried.expect("python3 runs").success()
}
