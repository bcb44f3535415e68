//! The database's own clock.

use diesel::dsl::sql;
use diesel::prelude::*;
use jiff::Timestamp;

use super::db::Link;
use super::types::{Instant, Sql};
use super::{Conn, StoreError};

/// What it shows; `None` for SQLite, which reads the machine's.
///
/// # Errors
/// Those of the database.
pub fn now(conn: &mut Conn) -> Result<Option<Timestamp>, StoreError> {
    let Link::Postgres(pooled) = &mut conn.link else {
        return Ok(None);
    };
    let query = diesel::select(sql::<Instant>("clock_timestamp()"));
    let shown = query.get_result::<Sql<Timestamp>>(&mut pooled.conn);
    conn.settle(shown).map(|shown| Some(shown.into()))
}
