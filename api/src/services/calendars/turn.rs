//! How many calendars' texts are held and read at a time: what is made of one takes several times its length.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock, Mutex, PoisonError, Weak};
use std::time::Duration;

use tokio::sync::{AcquireError, OwnedSemaphorePermit, Semaphore};
use tokio::time::timeout;

use crate::error::{Code, Problem};
use crate::ids::ClubId;

/// Texts of one club that are held at a time while they come in and wait to be read: one that comes slowly keeps no other club waiting.
const OF_A_CLUB: usize = 2;
/// Texts of all clubs that are held at a time.
static TEXTS: LazyLock<Arc<Semaphore>> = LazyLock::new(|| Arc::new(Semaphore::new(8)));
/// Texts that are read at a time.
static READINGS: LazyLock<Arc<Semaphore>> = LazyLock::new(|| Arc::new(Semaphore::new(1)));
/// The turns of the clubs whose texts come in.
static CLUBS: Mutex<BTreeMap<ClubId, Weak<Semaphore>>> = Mutex::new(BTreeMap::new());
/// How long a request waits for its turn: shorter than a connection lasts of which nothing is read (`server::UNREAD_TIME`).
const WAIT: Duration = Duration::from_secs(20);

/// One of the few who may. It ends when it is dropped: with the work, not with the request that waits for it.
pub type Turn = OwnedSemaphorePermit;

/// Lets a text of a club come in.
///
/// # Errors
/// 503 where others keep it waiting.
pub async fn to_send(club: ClubId) -> Result<(Turn, Turn), Problem> {
    let of_club = in_time(of_club(club).acquire_owned()).await?;
    let of_all = in_time(Arc::clone(&TEXTS).acquire_owned()).await?;
    Ok((of_club, of_all))
}

/// Lets a text be read, whether it is sent or stored.
///
/// # Errors
/// 503 where others keep it waiting.
pub async fn to_read() -> Result<Turn, Problem> {
    in_time(Arc::clone(&READINGS).acquire_owned()).await
}

/// Waits as long as it takes until a text may be read: for a job, which nobody waits for.
///
/// # Errors
/// None while the program runs.
pub async fn to_read_some_time() -> Result<Turn, Problem> {
    let turn = Arc::clone(&READINGS).acquire_owned().await;
    turn.map_err(|error| Problem::internal(&error))
}

/// The turns of a club, kept as long as somebody holds or awaits one.
fn of_club(club: ClubId) -> Arc<Semaphore> {
    let mut clubs = CLUBS.lock().unwrap_or_else(PoisonError::into_inner);
    clubs.retain(|_, turns| turns.strong_count() > 0);
    if let Some(turns) = clubs.get(&club).and_then(Weak::upgrade) {
        return turns;
    }
    let turns = Arc::new(Semaphore::new(OF_A_CLUB));
    clubs.insert(club, Arc::downgrade(&turns));
    turns
}

async fn in_time(turn: impl Future<Output = Result<Turn, AcquireError>>) -> Result<Turn, Problem> {
    let Ok(Ok(turn)) = timeout(WAIT, turn).await else {
        let detail = "Other calendars are being read.";
        return Err(Problem::new(Code::Busy, detail).retry_after(1));
    };
    Ok(turn)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_club_that_sends_slowly_keeps_no_other_waiting() {
        let [slow, other] = [1, 2].map(|id| ClubId::from(uuid::Uuid::from_u128(id)));
        let turn = |club| of_club(club).try_acquire_owned();
        let held = [turn(slow).unwrap(), turn(slow).unwrap()];
        assert!(turn(slow).is_err());
        assert!(turn(other).is_ok());
        drop(held);
        assert!(turn(slow).is_ok());
    }
}
