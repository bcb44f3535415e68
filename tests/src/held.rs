//! A database in which nobody can write for a while, as when another program holds it.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};

use crate::rows::rows;

/// Another program's lock on the database: reading goes on, writing waits. Dropped, the lock is given back.
pub struct Held {
    holder: Child,
    database_url: String,
}

/// Who waits for any lock, on PostgreSQL: behind the first that waits for ours, others may wait for one of the first's.
const WAITING: &str = "SELECT count(DISTINCT pid) FROM pg_locks JOIN pg_stat_activity USING (pid) \
     WHERE NOT granted AND datname = current_database()";

impl Held {
    pub(crate) fn of(database_url: &str) -> Self {
        let holder = match database_url.strip_prefix("sqlite://") {
            Some(path) => on_sqlite(path),
            None => on_postgres(database_url, "clubs, audit_reads", "EXCLUSIVE"),
        };
        Self::once_held(holder, database_url)
    }

    /// How many wait for it; on SQLite nobody can tell.
    pub fn waiting(&self) -> Option<usize> {
        let on_sqlite = self.database_url.starts_with("sqlite://");
        let count = || rows(&[], &self.database_url, WAITING).concat().concat();
        (!on_sqlite).then(|| count().parse().expect("a number"))
    }

    /// Tables on PostgreSQL that cannot even be read.
    pub(crate) fn of_tables(database_url: &str, names: &str) -> Self {
        Self::once_held(
            on_postgres(database_url, names, "ACCESS EXCLUSIVE"),
            database_url,
        )
    }

    fn once_held(mut holder: Child, database_url: &str) -> Self {
        let output = holder.stdout.take().expect("the holder's output");
        let mut said = BufReader::new(output).lines().map_while(Result::ok);
        assert!(said.any(|line| line == "held"), "the lock is not to be had");
        Self {
            holder,
            database_url: database_url.to_owned(),
        }
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        // A lock ends with the program that holds it.
        let _ = self.holder.kill();
        let _ = self.holder.wait();
    }
}

fn on_sqlite(path: &str) -> Child {
    let script = "import sqlite3, sys, time\n\
        database = sqlite3.connect(sys.argv[1], isolation_level=None, timeout=60)\n\
        database.execute('BEGIN IMMEDIATE')\n\
        print('held', flush=True)\n\
        time.sleep(600)\n";
    spawn(Command::new("python3").args(["-c", script, path]))
}

/// Every write locks its club's row first, and every audit row goes into its table.
fn on_postgres(url: &str, tables: &str, mode: &str) -> Child {
    let mut holder = spawn(Command::new("psql").args(["--no-psqlrc", "--quiet", "--dbname", url]));
    let script = format!("BEGIN;\nLOCK TABLE {tables} IN {mode} MODE;\n\\echo held\n");
    let input = holder.stdin.as_mut().expect("the holder's input");
    input
        .write_all(script.as_bytes())
        .expect("the holder listens");
    holder
}

fn spawn(command: &mut Command) -> Child {
    let child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    child.unwrap_or_else(|error| panic!("{command:?}: {error}"))
}
