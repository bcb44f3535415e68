//! Sandboxes: clubs of invented people in which a program can be tried, without anybody's data.
//!
//! A sandbox is an application of its own within the service ([`App`]): an embedded database in a temporary folder, a clock that
//! stands still until it is moved ([`Hand`]), ids from its seed, keys that nothing else knows. A request whose path names its club is
//! answered by that application, so a token of a live club is to it as one that nobody signed, and the reverse. Its own signing key
//! is thrown away once its tokens are signed. It lives in one process, and ends with it.

mod answer;
mod aside;
mod create;
mod hand;
mod input;
mod make;
mod passing;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use jiff::{SignedDuration, Timestamp};
use tempfile::TempDir;
use tokio::sync::OwnedMutexGuard;

pub use answer::{SandboxAnswer, SandboxSummary, SandboxToken, Suggestion};
pub use create::create;
pub use hand::{AT_ONCE, Hand, IN_ALL};
pub use input::{SandboxInput, Wanted};
pub use passing::{ClockAnswer, ClockInput, move_clock, read_clock};

use crate::app::App;
use crate::config::Switch;
use crate::error::{Code, Problem};
use crate::ids::ClubId;
use crate::services::write::KeptKey;
use crate::web::reply::Reply;

/// Sandboxes at once: each takes a few megabytes of disk, some connections and threads.
pub const MOST: usize = 8;
/// How long one is kept.
pub const KEPT: SignedDuration = SignedDuration::from_hours(7 * 24);

/// One sandbox. Dropped, its files are removed.
pub struct Sandbox {
    id: ClubId,
    app: App,
    wanted: Wanted,
    name: &'static str,
    made_at: Timestamp,
    until: Timestamp,
    /// The answer that it was made with, for whoever sends its key again.
    answer: Option<(KeptKey, Reply)>,
    /// After the application, which has files in it.
    _folder: TempDir,
}

/// The sandboxes of a service.
pub struct Sandboxes {
    allowed: Switch,
    kept: Mutex<BTreeMap<ClubId, Sandbox>>,
    making: Arc<tokio::sync::Mutex<()>>,
}

impl Sandboxes {
    /// None yet, and whether any may be made.
    pub fn new(allowed: Switch) -> Self {
        Self {
            allowed,
            kept: Mutex::default(),
            making: Arc::default(),
        }
    }

    /// The application of the sandbox with this id.
    pub fn find(&self, id: ClubId, now: Timestamp) -> Option<App> {
        let kept = self.kept();
        let sandbox = kept.get(&id).filter(|sandbox| now < sandbox.until)?;
        Some(sandbox.app.clone())
    }

    /// Every sandbox, the oldest first.
    pub fn list(&self, now: Timestamp) -> Vec<SandboxSummary> {
        self.end_old(now);
        let mut list: Vec<_> = self.kept().values().map(SandboxSummary::of).collect();
        list.sort_by_key(|sandbox| (sandbox.made_at, sandbox.sandbox_id));
        list
    }

    /// Ends a sandbox, or looks only whether it is there.
    ///
    /// # Errors
    /// 404.
    pub fn remove(&self, id: ClubId, now: Timestamp, dry_run: bool) -> Result<(), Problem> {
        self.end_old(now);
        let mut kept = self.kept();
        let found = match dry_run {
            true => kept.contains_key(&id),
            false => kept.remove(&id).is_some(),
        };
        found.then_some(()).ok_or_else(Problem::not_found)
    }

    /// Ends those whose time is over.
    pub fn end_old(&self, now: Timestamp) {
        self.kept().retain(|_, sandbox| now < sandbox.until);
    }

    /// Ends all of them.
    pub fn end_all(&self) {
        self.kept().clear();
    }

    /// The turn of whoever makes one: they are made one after another, since each takes a processor for a while.
    fn turn(&self) -> Result<OwnedMutexGuard<()>, Problem> {
        if !self.allowed.is_on() {
            let detail =
                "This service makes no sandboxes: set PLIMSOLL_SANDBOXES=on and start it anew.";
            return Err(Problem::new(Code::SandboxesOff, detail));
        }
        let turn = Arc::clone(&self.making).try_lock_owned();
        turn.map_err(|_| {
            let detail = "Another sandbox is being made just now; repeat the request.";
            Problem::new(Code::Busy, detail).retry_after(2)
        })
    }

    /// The answer that this request was given before, where its key is still known.
    fn answer_again(&self, key: &KeptKey) -> Result<Option<Reply>, Problem> {
        for sandbox in self.kept().values() {
            if let Some((known, reply)) = &sandbox.answer
                && known.is_repeated_by(key)?
            {
                let mut reply = reply.clone();
                reply.replayed = true;
                return Ok(Some(reply));
            }
        }
        Ok(None)
    }

    /// Whether one more may be there, and no other of its seed and date is.
    fn room_for(&self, wanted: Wanted, now: Timestamp) -> Result<(), Problem> {
        self.end_old(now);
        let kept = self.kept();
        let known: Vec<_> = kept
            .values()
            .map(|one| (one.id, one.wanted, one.until))
            .collect();
        room_beside(&known, wanted)
    }

    fn keep(&self, sandbox: Sandbox) {
        self.kept().insert(sandbox.id, sandbox);
    }

    fn kept(&self) -> MutexGuard<'_, BTreeMap<ClubId, Sandbox>> {
        // What is under the lock is whole after every line.
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Whether one more may be there beside those that are: id, seed and date, end.
fn room_beside(known: &[(ClubId, Wanted, Timestamp)], wanted: Wanted) -> Result<(), Problem> {
    if let Some((id, ..)) = known.iter().find(|(_, other, _)| *other == wanted) {
        let Wanted { seed, date } = wanted;
        let detail = format!("The sandbox {id} has the seed {seed} and began on {date}.");
        return Err(Problem::new(Code::SandboxExists, detail));
    }
    let first = known.iter().map(|(_, _, until)| *until).min();
    match first.filter(|_| known.len() >= MOST) {
        None => Ok(()),
        Some(until) => {
            let detail = format!(
                "There are {MOST} sandboxes, the first of which ends at {until}; remove one of them."
            );
            Err(Problem::new(Code::TooManySandboxes, detail))
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use uuid::Uuid;

    use super::*;

    #[test]
    fn there_are_so_many_and_no_two_of_one_seed_and_date() {
        let on = date(2026, 11, 25);
        let wanted = |seed| Wanted { seed, date: on };
        let known = |seed: u32| {
            let id = ClubId::from(Uuid::from_u128(seed.into()));
            (id, wanted(seed), Timestamp::UNIX_EPOCH + KEPT)
        };
        let some: Vec<_> = (1..8).map(known).collect();
        assert!(room_beside(&some, wanted(8)).is_ok());
        let other_date = Wanted {
            seed: 3,
            date: date(2026, 11, 26),
        };
        assert!(room_beside(&some, other_date).is_ok());
        let twice = room_beside(&some, wanted(3)).unwrap_err();
        assert_eq!(twice.code, Code::SandboxExists);
        let all: Vec<_> = (1..=8).map(known).collect();
        assert_eq!(all.len(), MOST);
        let further = room_beside(&all, wanted(9)).unwrap_err();
        assert_eq!(further.code, Code::TooManySandboxes);
        let ends = "1970-01-08T00:00:00Z";
        assert!(further.detail.contains(ends), "{}", further.detail);
    }
}
