//! Clubs' keys: another one while the service runs, and another master key around them.
//!
//! A rotation begins the club's next key and seals what is under another one in small transactions, each of which holds the club
//! for as long as a report does. Readers find both keys. The old key is retired by the transaction that finds nothing under it any
//! more: whoever writes holds the club too, so nothing is on its way under the old key then.

use std::time::Duration;

use crate::clock::Clock;
use crate::store::reseal::{COLUMNS, SealedColumn};
use crate::store::{Clubs, Conn, Store, StoreError, Tenant, club_keys, clubs};

/// Waits that a rotation has patience for, one after the other.
const PATIENCE: u32 = 100;
/// How long it waits when the database is busy.
const PAUSE: Duration = Duration::from_millis(100);
/// How long it rests between two transactions: SQLite's lock goes to whoever asks at the right moment, and others are to have it too.
const REST: Duration = Duration::from_millis(20);

/// What a rotation came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rotated {
    /// The number of the key that everything is under now.
    pub number: i32,
    /// Values that were sealed anew.
    pub values: usize,
    /// Keys that were retired.
    pub retired: usize,
}

/// Gives a club its next key and seals everything under it. One that was broken off goes on where it stopped.
///
/// # Errors
/// `NotOpened` when a value does not open: then nothing is retired. Those of the database.
pub async fn rotate(store: &Store, tenant: Tenant, clock: Clock) -> Result<Rotated, StoreError> {
    let number = patiently(store, move |conn| {
        clubs::lock(conn, tenant, clock)?;
        club_keys::begin(conn, tenant)
    });
    let number = number.await?;
    let mut values = 0;
    for column in COLUMNS {
        values += reseal(store, tenant, clock, column).await?;
    }
    loop {
        let ended = patiently(store, move |conn| end(conn, tenant, clock, number)).await?;
        match ended {
            Ended::Retired(retired) => {
                return Ok(Rotated {
                    number,
                    values,
                    retired,
                });
            }
            Ended::Found(more) => values += more,
        }
    }
}

/// One pass over a column, from row to row.
async fn reseal(
    store: &Store,
    tenant: Tenant,
    clock: Clock,
    column: SealedColumn,
) -> Result<usize, StoreError> {
    let (mut values, mut from) = (0, None::<Vec<u8>>);
    loop {
        let after = from.clone();
        let some = patiently(store, move |conn| {
            clubs::lock(conn, tenant, clock)?;
            column.reseal_some(conn, tenant, after.as_deref())
        });
        let some = some.await?;
        values += some.values;
        match some.last {
            Some(last) => from = Some(last),
            None => return Ok(values),
        }
        tokio::time::sleep(REST).await;
    }
}

enum Ended {
    Retired(usize),
    /// What writers had on their way when the pass went by; it is under the new key now.
    Found(usize),
}

fn end(conn: &mut Conn, tenant: Tenant, clock: Clock, number: i32) -> Result<Ended, StoreError> {
    let moment = clubs::lock(conn, tenant, clock)?;
    let mut found = 0;
    for column in COLUMNS {
        found += column.reseal_some(conn, tenant, None)?.values;
    }
    if found > 0 {
        return Ok(Ended::Found(found));
    }
    let retired = club_keys::retire_before(conn, tenant, number, moment.now())?;
    Ok(Ended::Retired(retired))
}

/// Wraps every club's keys with the newest master key; answers how many were wrapped with an older one.
///
/// # Errors
/// `NotOpened` when an older master key is not here, and those of the database.
pub async fn rewrap(store: &Store) -> Result<usize, StoreError> {
    let mut count = 0;
    loop {
        match patiently(store, club_keys::rewrap_some).await? {
            0 => return Ok(count),
            some => count += some,
        }
    }
}

/// Repeats a transaction that the service's own work keeps waiting.
async fn patiently<T: Send + 'static>(
    store: &Store,
    work: impl Fn(&mut Conn) -> Result<T, StoreError> + Clone + Send + 'static,
) -> Result<T, StoreError> {
    let mut waits = 0;
    loop {
        match store.write(Clubs::Every, work.clone()).await {
            Err(StoreError::Busy | StoreError::Timeout) if waits < PATIENCE => {
                waits += 1;
                tokio::time::sleep(PAUSE).await;
            }
            outcome => return outcome,
        }
    }
}
