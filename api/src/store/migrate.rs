//! The embedded migrations of both databases, under the same names.

use diesel::connection::{AnsiTransactionManager, SimpleConnection, TransactionManager};
use diesel::migration::Migration;
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
        DatabaseUrl::Sqlite(path) => pending_on(&mut sqlite::open(path)?, SQLITE),
        DatabaseUrl::Postgres(url) => pending_on(&mut open_postgres(url)?, POSTGRES),
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
            conn.batch_execute("PRAGMA busy_timeout = 5000;")?;
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
    conn.batch_execute("SET lock_timeout = 10000;")?;
    Ok(conn)
}

/// Diesel makes its own table of applied migrations when it only looks; that is undone.
fn pending_on<C>(conn: &mut C, set: EmbeddedMigrations) -> Result<Vec<String>, StoreError>
where
    C: MigrationHarness<C::Backend>
        + diesel::Connection<TransactionManager = AnsiTransactionManager>,
    C::Backend: diesel::backend::Backend,
    EmbeddedMigrations: diesel::migration::MigrationSource<C::Backend>,
{
    AnsiTransactionManager::begin_transaction(conn)?;
    let pending = conn.pending_migrations(set).map(|migrations| {
        migrations
            .iter()
            .map(|migration| migration.name().to_string())
            .collect()
    });
    AnsiTransactionManager::rollback_transaction(conn)?;
    pending.map_err(failed)
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
