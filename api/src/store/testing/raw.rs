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
