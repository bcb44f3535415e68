//! Waiting until what is being written about a club is there to be read.
//!
//! A write takes its instant once it holds its club, and is seen only when it has committed. A read
//! that names an instant in between would answer otherwise once the commit is done. So a read first
//! waits for the write that is under way: on SQLite for the one write there can be, on PostgreSQL by
//! an advisory lock that the club's writes hold alone and its reads share for a moment.

use diesel::connection::SimpleConnection;
use diesel::prelude::*;

use super::backend::each_backend;
use super::db::{Access, Link, Mode, Pools};
use super::{Clubs, Conn, StoreError, Tenant};

/// The longest wait on PostgreSQL, after which a read does without. On SQLite it is that for the one
/// connection that writes (`connect_wait`), and for another program `lock_timeout`.
const WAIT: &str = "250ms";

/// Lets reads know, until the transaction ends, that the club is being written.
///
/// # Errors
/// `Busy` when another write holds the club too long.
pub(super) fn announce(conn: &mut Conn, tenant: Tenant) -> Result<(), StoreError> {
    let announced = match &mut conn.link {
        Link::Sqlite(_) => Ok(()),
        Link::Postgres(link) => diesel::sql_query("SELECT pg_advisory_xact_lock($1)")
            .bind::<diesel::sql_types::BigInt, _>(key(tenant))
            .execute(&mut link.conn)
            .map(drop),
    };
    conn.settle(announced)
}

/// Waits until the writes of the club that have begun have ended. Answers whether they have: a wait
/// that takes too long is given up.
///
/// # Errors
/// Those of the database.
pub(super) fn wait(conn: &mut Conn, pools: &Pools, tenant: Tenant) -> Result<bool, StoreError> {
    let waited = match conn.link {
        Link::Sqlite(_) => wait_for_the_writer(pools),
        Link::Postgres(_) => wait_for_lock(conn, tenant),
    };
    match waited {
        Ok(()) => Ok(true),
        Err(StoreError::Busy) => Ok(false),
        Err(error) => Err(error),
    }
}

/// A transaction that writes nothing: SQLite lets it begin when no other one writes.
fn wait_for_the_writer(pools: &Pools) -> Result<(), StoreError> {
    // A pool without a free connection has given it to a write that takes long.
    let writer = pools.connection(Access::Write);
    let mut writer = writer.map_err(|_| StoreError::Busy)?;
    writer.begin(Mode::Write, Clubs::Every)?;
    writer.rollback();
    Ok(())
}

fn wait_for_lock(conn: &mut Conn, tenant: Tenant) -> Result<(), StoreError> {
    let statements = format!(
        "BEGIN; SET LOCAL lock_timeout = '{WAIT}'; SELECT pg_advisory_xact_lock_shared({}); COMMIT",
        key(tenant)
    );
    let waited = each_backend!(conn, |c| c.batch_execute(&statements));
    if waited.is_err() && !conn.is_lost() {
        each_backend!(conn, |c| c.batch_execute("ROLLBACK"))?;
    }
    waited
}

/// The number that stands for a club among PostgreSQL's advisory locks. Clubs that share one by
/// chance wait for each other.
fn key(tenant: Tenant) -> i64 {
    let (_, low) = tenant.club_id().uuid().as_u64_pair();
    low.cast_signed()
}
