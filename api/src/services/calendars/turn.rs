//! How many calendars' texts are held and read at a time: what is made of one takes several times its length.

use std::time::Duration;

use tokio::sync::{Semaphore, SemaphorePermit};
use tokio::time::timeout;

use crate::error::{Code, Problem};

/// Texts that are held at a time while they come in and wait to be read.
static TEXTS: Semaphore = Semaphore::const_new(2);
/// Texts that are read at a time.
static READINGS: Semaphore = Semaphore::const_new(1);
/// How long a request waits for its turn.
const WAIT: Duration = Duration::from_secs(20);

/// One of the few who may. It ends when it is dropped: with the work, not with the request that waits for it.
pub type Turn = SemaphorePermit<'static>;

/// Lets a text come in.
///
/// # Errors
/// 503 where others keep it waiting.
pub async fn to_send() -> Result<Turn, Problem> {
    in_time(&TEXTS).await
}

/// Lets a text be read, whether it is sent or stored.
///
/// # Errors
/// 503 where others keep it waiting.
pub async fn to_read() -> Result<Turn, Problem> {
    in_time(&READINGS).await
}

/// Waits as long as it takes until a text may be read: for a job, which nobody waits for.
///
/// # Errors
/// None while the program runs.
pub async fn to_read_some_time() -> Result<Turn, Problem> {
    let turn = READINGS.acquire().await;
    turn.map_err(|error| Problem::internal(&error))
}

async fn in_time(turns: &'static Semaphore) -> Result<Turn, Problem> {
    let Ok(Ok(turn)) = timeout(WAIT, turns.acquire()).await else {
        let detail = "Other calendars are being read.";
        return Err(Problem::new(Code::Busy, detail).retry_after(1));
    };
    Ok(turn)
}
