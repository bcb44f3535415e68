//! Statements that no store function makes.

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::BigInt;

use crate::store::backend::each_backend;
use crate::store::{Conn, DatabaseUrl, StoreError, postgres, sqlite};

/// Runs statements.
///
/// # Errors
/// Those of the database.
pub fn execute(conn: &mut Conn, sql: &str) -> Result<(), StoreError> {
    each_backend!(conn, |c| c.batch_execute(sql))
}

/// The one whole number a query answers.
///
/// # Errors
/// Those of the database.
pub fn number(conn: &mut Conn, sql: &str) -> Result<i64, StoreError> {
    let query = format!("SELECT CAST(({sql}) AS BIGINT) AS value");
    each_backend!(conn, |c| diesel::sql_query(&query).get_result::<Number>(c))
        .map(|number| number.value)
}

#[derive(QueryableByName)]
struct Number {
    #[diesel(sql_type = BigInt)]
    value: i64,
}

/// As [`number`], on a connection of its own to PostgreSQL that names no club.
///
/// # Errors
/// Those of the database; SQLite knows no such connection.
pub fn number_elsewhere(url: &DatabaseUrl, sql: &str) -> Result<i64, StoreError> {
    let DatabaseUrl::Postgres(url) = url else {
        return Err(StoreError::Internal("SQLite has no wall".to_owned()));
    };
    let query = format!("SELECT CAST(({sql}) AS BIGINT) AS value");
    let found = diesel::sql_query(query).get_result::<Number>(&mut postgres::open(url)?)?;
    Ok(found.value)
}

/// Runs statements on a connection of its own.
///
/// # Errors
/// Those of the database.
pub fn execute_elsewhere(url: &DatabaseUrl, sql: &str) -> Result<(), StoreError> {
    match url {
        DatabaseUrl::Postgres(url) => Ok(postgres::open(url)?.batch_execute(sql)?),
        DatabaseUrl::Sqlite(path) => Ok(sqlite::open(path)?.batch_execute(sql)?),
    }
}
