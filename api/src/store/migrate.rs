//! The embedded migrations of both databases, under the same names.

use diesel::connection::SimpleConnection;
use diesel::migration::Migration;
use diesel::prelude::*;
use diesel::sql_types::{Bool, Text};
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use super::{DatabaseUrl, StoreError, postgres, sqlite};

const SQLITE: EmbeddedMigrations = embed_migrations!("../migrations/sqlite");
const POSTGRES: EmbeddedMigrations = embed_migrations!("../migrations/postgres");

type Failure = Box<dyn std::error::Error + Send + Sync>;

/// The names of the migrations still to be applied, in order. Changes nothing, and makes no file.
///
/// # Errors
/// `Unavailable` when the database cannot be reached, `Internal` with its message otherwise.
pub fn pending(url: &DatabaseUrl) -> Result<Vec<String>, StoreError> {
    match url {
        DatabaseUrl::Sqlite(path) if !path.exists() => names(&SQLITE),
        DatabaseUrl::Sqlite(path) => {
            pending_of(&SQLITE, &applied_on_sqlite(&mut sqlite::open(path)?)?)
        }
        DatabaseUrl::Postgres(url) => {
            pending_of(&POSTGRES, &applied_on_postgres(&mut open_postgres(url)?)?)
        }
    }
}

/// Applies the pending migrations, each in a transaction, and answers their names.
///
/// # Errors
/// As [`pending`]; a migration that fails leaves the ones before it applied and itself undone.
pub fn apply(url: &DatabaseUrl) -> Result<Vec<String>, StoreError> {
    match url {
        DatabaseUrl::Sqlite(path) => {
            let mut conn = sqlite::open(path)?;
            // What a migration moves must not stay readable where it lay.
            conn.batch_execute("PRAGMA busy_timeout = 5000; PRAGMA secure_delete = ON;")?;
            apply_on(&mut conn, SQLITE)
        }
        DatabaseUrl::Postgres(url) => {
            let mut conn = open_postgres(url)?;
            // Two instances that start together take turns; the lock ends with the connection.
            conn.batch_execute("SELECT pg_advisory_lock(hashtext('plimsoll migrations'));")?;
            apply_on(&mut conn, POSTGRES)
        }
    }
}

/// Undoes every migration, the last one first.
///
/// # Errors
/// As [`apply`].
#[cfg(any(test, feature = "testing"))]
pub fn revert_all(url: &DatabaseUrl) -> Result<(), StoreError> {
    match url {
        DatabaseUrl::Sqlite(path) => {
            sqlite::open(path)?
                .revert_all_migrations(SQLITE)
                .map_err(failed)?;
        }
        DatabaseUrl::Postgres(url) => {
            open_postgres(url)?
                .revert_all_migrations(POSTGRES)
                .map_err(failed)?;
        }
    }
    Ok(())
}

/// The names of the migrations of SQLite and of PostgreSQL.
///
/// # Errors
/// When a folder of migrations is malformed.
pub fn all_names() -> Result<(Vec<String>, Vec<String>), StoreError> {
    Ok((names(&SQLITE)?, names(&POSTGRES)?))
}

fn names(set: &EmbeddedMigrations) -> Result<Vec<String>, StoreError> {
    use diesel::migration::MigrationSource;
    // The names do not depend on the database the type parameter names.
    let migrations = MigrationSource::<diesel::pg::Pg>::migrations(set).map_err(failed)?;
    let mut names: Vec<_> = migrations
        .iter()
        .map(|migration| migration.name().to_string())
        .collect();
    names.sort();
    Ok(names)
}

/// A connection without time limits but one: a migration may run long, and must not queue behind a
/// lock for long while everything else queues behind it.
fn open_postgres(url: &str) -> Result<diesel::PgConnection, StoreError> {
    let mut conn = postgres::open(&postgres::with_defaults(url))?;
    // A migration that moves rows moves those of every club, though row-level security binds the tables' owner as well.
    conn.batch_execute("SET lock_timeout = 10000; SET plimsoll.every_club = 'on';")?;
    Ok(conn)
}

/// Those of a set whose version is not among the applied ones. Asked without diesel's help, which would make its table of applied
/// migrations where it only looks, and so want the right to.
fn pending_of(set: &EmbeddedMigrations, applied: &[Applied]) -> Result<Vec<String>, StoreError> {
    let mut names = names(set)?;
    names.retain(|name| {
        let version = name.split('_').next().unwrap_or(name);
        applied.iter().all(|one| one.version != version)
    });
    Ok(names)
}

#[derive(QueryableByName)]
struct Applied {
    #[diesel(sql_type = Text)]
    version: String,
}

#[derive(QueryableByName)]
struct Found {
    #[diesel(sql_type = Bool)]
    found: bool,
}

/// What was applied, by diesel's table; nothing where it is not there yet. `exists` asks whether it is.
macro_rules! applied {
    ($conn:expr, $exists:literal) => {{
        let conn = $conn;
        let table: Found = diesel::sql_query($exists).get_result(conn)?;
        if table.found {
            diesel::sql_query("SELECT version FROM __diesel_schema_migrations")
                .load::<Applied>(conn)?
        } else {
            Vec::new()
        }
    }};
}

fn applied_on_sqlite(conn: &mut SqliteConnection) -> Result<Vec<Applied>, StoreError> {
    Ok(applied!(
        conn,
        "SELECT count(*) > 0 AS found FROM sqlite_schema WHERE name = '__diesel_schema_migrations'"
    ))
}

fn applied_on_postgres(conn: &mut PgConnection) -> Result<Vec<Applied>, StoreError> {
    Ok(applied!(
        conn,
        "SELECT to_regclass('__diesel_schema_migrations') IS NOT NULL AS found"
    ))
}

fn apply_on<C>(conn: &mut C, set: EmbeddedMigrations) -> Result<Vec<String>, StoreError>
where
    C: MigrationHarness<C::Backend> + diesel::Connection,
    EmbeddedMigrations: diesel::migration::MigrationSource<C::Backend>,
{
    let pending = conn.pending_migrations(set).map_err(failed)?;
    conn.run_migrations(&pending).map_err(failed)?;
    Ok(pending
        .iter()
        .map(|migration| migration.name().to_string())
        .collect())
}

#[expect(clippy::needless_pass_by_value, reason = "the shape map_err asks for")]
fn failed(error: Failure) -> StoreError {
    StoreError::Internal(error.to_string())
}
