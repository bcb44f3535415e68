//! Makes the database forget the bytes of rows that are gone.
//!
//! On SQLite deleted content is overwritten at once (`secure_delete`), and the write-ahead log, which still has it, is cut to nothing.
//! PostgreSQL leaves it in the pages until a table is written anew: a plain VACUUM frees the space and keeps its bytes. So the tables are
//! written anew, each locked meanwhile, and so are the samples of their values that the planner keeps.

use std::time::Duration;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Integer};

use super::backend::each_backend;
use super::db::{Access, Link};
use super::{Conn, Store, StoreError, finished};

impl Store {
    /// Makes the database forget the bytes of rows of these tables that are gone, outside any transaction and after it.
    ///
    /// # Errors
    /// `Busy` where somebody still reads an earlier state, so that it has to be tried again; those of the database.
    pub async fn scrub(&self, tables: Vec<&'static str>) -> Result<(), StoreError> {
        let job = self.begin(Access::Write, move |inner| {
            let mut conn = inner.pools.connection(Access::Write)?;
            run(&mut conn, &tables, inner.settings.statement_timeout)
        });
        finished(job.await?.await)
    }
}

/// Sessions that still see what was there before: what they see would be written anew with the rest.
const OLDER_SNAPSHOTS: &str = "
    SELECT count(*) AS value FROM pg_stat_activity own, pg_stat_activity other
    WHERE own.pid = pg_backend_pid() AND other.pid <> own.pid AND other.datname = own.datname
      AND age(other.backend_xmin) > age(own.backend_xmin)";

/// Tables that this role may not write anew: PostgreSQL passes them over with a warning alone.
const NOT_OURS: &str = "
    SELECT count(*) AS value FROM pg_class t
    WHERE t.relnamespace = 'public'::regnamespace AND t.relkind = 'r'
      AND NOT pg_has_role(current_user, t.relowner, 'USAGE')";

#[derive(QueryableByName)]
struct Checkpoint {
    #[diesel(sql_type = Integer)]
    busy: i32,
}

#[derive(QueryableByName)]
struct Number {
    #[diesel(sql_type = BigInt)]
    value: i64,
}

/// Does it for these tables; `limit` is the time that an ordinary statement may take.
fn run(conn: &mut Conn, tables: &[&str], limit: Duration) -> Result<(), StoreError> {
    match conn.link {
        Link::Sqlite(_) => cut_log(conn),
        Link::Postgres(_) => {
            // A table takes as long as it takes; waiting for its lock stays bounded.
            execute(conn, "SET statement_timeout = 0")?;
            let written = write_anew(conn, tables);
            execute(
                conn,
                &format!("SET statement_timeout = {}", limit.as_millis()),
            )?;
            written
        }
    }
}

fn cut_log(conn: &mut Conn) -> Result<(), StoreError> {
    let query = "PRAGMA wal_checkpoint(TRUNCATE)";
    let checkpoint: Checkpoint = each_backend!(conn, |c| diesel::sql_query(query).get_result(c))?;
    match checkpoint.busy {
        0 => Ok(()),
        _ => Err(StoreError::Busy),
    }
}

fn write_anew(conn: &mut Conn, tables: &[&str]) -> Result<(), StoreError> {
    let not_ours: Number = each_backend!(conn, |c| diesel::sql_query(NOT_OURS).get_result(c))?;
    if not_ours.value > 0 {
        return Err(StoreError::Internal(
            "only the tables' owner can make the database forget: `plimsoll erasures finish` with its URL".to_owned(),
        ));
    }
    let older: Number = each_backend!(conn, |c| diesel::sql_query(OLDER_SNAPSHOTS).get_result(c))?;
    if older.value > 0 {
        return Err(StoreError::Busy);
    }
    for table in tables {
        execute(conn, &format!("VACUUM (FULL, ANALYZE) {table}"))?;
    }
    execute(conn, "VACUUM (FULL) pg_statistic")
}

fn execute(conn: &mut Conn, statement: &str) -> Result<(), StoreError> {
    each_backend!(conn, |c| c.batch_execute(statement))
}
