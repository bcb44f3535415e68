//! The database store: SQLite (embedded) or PostgreSQL, behind one set of functions.
//!
//! A request's database work is one closure: it waits for a permit without holding a thread, then
//! runs on the blocking pool with one connection, so a transaction is never held across an await.
//! Store functions take that connection and the club's [`Tenant`], and compose inside it:
//!
//! ```ignore
//! let club = store.read(tenant, move |conn| clubs::find(conn, tenant)).await?;
//! ```
//!
//! This is the only part of the service that knows diesel.

mod backend;
mod codes;
mod days;
mod db;
mod error;
mod moment;
mod name_key;
mod postgres;
mod prepared;
mod schema;
mod scrub;
mod seal;
mod settings;
mod settle;
mod sqlite;
mod tenant;
mod types;
mod url;
mod versioned;
mod who;
mod writing;

pub mod absences;
pub mod athletes;
pub mod attendance;
pub mod audit;
pub mod calendars;
pub mod changes;
pub mod clearances;
pub mod club_keys;
pub mod clubs;
pub mod consent_settings;
pub mod consented_reads;
pub mod consents;
pub mod database_clock;
pub mod day_totals;
pub mod declared;
pub mod directory;
pub mod erasures;
pub mod event_warm_ups;
pub mod events;
pub mod exercises;
pub mod expected;
pub mod flags;
pub mod guardian_links;
pub mod idempotency;
pub mod injuries;
pub mod licences;
pub mod look_aheads;
pub mod mail;
pub mod memberships;
pub mod migrate;
pub mod notices;
pub mod pain_reports;
pub mod policies;
pub mod policy_drafts;
pub mod programme_assignments;
pub mod programmes;
pub mod questions;
pub mod ratings;
pub mod reseal;
pub mod rest_days;
pub mod restrictions;
pub mod retention;
pub mod revocations;
pub mod roster_sources;
pub mod second_copies;
pub mod session_contacts;
pub mod sessions;
pub mod shared_day_totals;
pub mod shares;
pub mod sharing_links;
pub mod sign_offs;
pub mod squads;
pub mod subject_records;
pub mod test_results;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
pub mod wall;
pub mod weeks;
pub mod withheld_weeks;

use std::sync::Arc;

use tokio::sync::{Semaphore, oneshot};
use tokio::task::{JoinError, JoinHandle, spawn_blocking};
use tokio::time::{Instant, timeout, timeout_at};

pub use codes::{
    AbsenceCategory, AttemptOutcome, AttendanceStatus, Certainty, ChangeKind, Channel,
    ConsentGiver, ConsentRecipient, CopyDecision, Decision, DeliveryState, ErasureReason,
    EventStatus, ExpectedState, FlagState, HoldEnd, HoldReason, NoticeKind, RestrictedTo,
    RevocationKind, WaitingFor, WrittenClearance,
};
pub use consents::DataClasses;
pub use days::{Block, DaySet};
pub use db::{Conn, savepoint};
pub use error::StoreError;
pub use moment::Moment;
pub use name_key::NameKey;
pub use plimsoll_domain::roster::MembershipRole;
pub use seal::{MasterKeyError, MasterKeys, Private};
pub use settings::StoreSettings;
pub use tenant::{Clubs, Tenant};
pub use types::whole_microsecond;
pub use url::{DatabaseUrl, DatabaseUrlError};
pub use versioned::{Author, Change, Known, Version, Versioned};
pub use who::Who;

use db::{Access, Mode, Pools};
use writing::Writing;

/// A connected database. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Store(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    pools: Pools,
    reads: Arc<Semaphore>,
    writes: Arc<Semaphore>,
    writing: Writing,
    settings: StoreSettings,
}

impl Store {
    /// Connects, showing at once whether the database can be reached. Blocks; for start-up.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] with what the database said.
    pub fn connect(
        url: &DatabaseUrl,
        settings: StoreSettings,
        masters: MasterKeys,
    ) -> Result<Self, StoreError> {
        let pools = Pools::open(url, &settings, masters)?;
        let permits = |count: u32| Arc::new(Semaphore::new(count.max(1) as usize));
        let (reads, writes) = (permits(settings.read_connections), permits(pools.writers()));
        Ok(Self(Arc::new(Inner {
            pools,
            reads,
            writes,
            writing: Writing::default(),
            settings,
        })))
    }

    /// Reads of some clubs with statements that see one and the same state of the data.
    ///
    /// # Errors
    /// Those of `work`; [`StoreError::Busy`] when no connection came free in time.
    pub async fn read<T, E, F>(&self, clubs: impl Into<Clubs>, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<StoreError> + Send + 'static,
        F: Fn(&mut Conn) -> Result<T, E> + Send + 'static,
    {
        let clubs = clubs.into();
        self.read_once(Box::new(move |conn| in_snapshot(conn, clubs, &work)))
            .await
    }

    async fn read_once<T, E>(&self, work: Reading<T, E>) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<StoreError> + Send + 'static,
    {
        let job = self.begin(Access::Read, move |inner| inner.read(work));
        finished(job.await?.await)
    }

    /// Reads one club in a snapshot, once the writes of it that had begun are over. `work` is told
    /// whether they are: where they take too long it is done all the same.
    ///
    /// # Errors
    /// As [`Store::read`].
    pub async fn settled<T, E, F>(&self, tenant: Tenant, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<StoreError> + Send + 'static,
        F: Fn(&mut Conn, bool) -> Result<T, E> + Send + 'static,
    {
        let shared = Arc::clone(&self.0);
        self.read_once(Box::new(move |conn| {
            let settled = settle::wait(conn, &shared.pools, tenant)?;
            in_snapshot(conn, tenant.into(), |conn| work(conn, settled))
        }))
        .await
    }

    /// Writes in one transaction: stored when `work` answers `Ok`, undone when it answers `Err`.
    ///
    /// # Errors
    /// Those of `work`; [`StoreError::Busy`] when no connection came free in time;
    /// [`StoreError::OutcomeUnknown`] when the answer to COMMIT did not come.
    pub async fn write<T, E, F>(&self, clubs: impl Into<Clubs>, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<StoreError> + Send + 'static,
        F: FnOnce(&mut Conn) -> Result<T, E> + Send + 'static,
    {
        let outcome = self.commit(clubs.into(), Box::new(work)).await;
        #[cfg(any(test, feature = "testing"))]
        testing::gate::answer_comes()?;
        outcome
    }

    async fn commit<T, E>(&self, clubs: Clubs, work: Work<T, E>) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<StoreError> + Send + 'static,
    {
        let (committing, commit_started) = oneshot::channel();
        let job = self.begin(Access::Write, move |inner| {
            inner.write(clubs, work, committing)
        });
        let mut job = job.await?;
        // The statements have their own time limits; COMMIT has none but this one. A sender that
        // is dropped unused means that the job is about to end without a commit.
        tokio::select! {
            biased;
            outcome = &mut job => return finished(outcome),
            _ = commit_started => {}
        }
        match timeout(self.0.settings.commit_timeout, job).await {
            Ok(outcome) => finished(outcome),
            Err(_) => Err(StoreError::OutcomeUnknown.into()),
        }
    }

    /// Does the work of [`Store::write`] and undoes it: the answer of a dry run.
    ///
    /// # Errors
    /// As [`Store::write`].
    pub async fn trial<T, E, F>(&self, clubs: impl Into<Clubs>, work: F) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<StoreError> + Send + 'static,
        F: FnOnce(&mut Conn) -> Result<T, E> + Send + 'static,
    {
        self.undo(clubs.into(), Box::new(work)).await
    }

    async fn undo<T, E>(&self, clubs: Clubs, work: Work<T, E>) -> Result<T, E>
    where
        T: Send + 'static,
        E: From<StoreError> + Send + 'static,
    {
        let job = self.begin(Access::Write, move |inner| inner.trial(clubs, work));
        finished(job.await?.await)
    }

    /// Whether the database takes writes. It does as long as writes succeed; after one has failed,
    /// for want of space or for a fault of the disk, a small one is tried.
    ///
    /// # Errors
    /// Why it does not.
    pub async fn check_writing(&self) -> Result<(), StoreError> {
        if self.0.writing.has_failed() {
            self.write(writing::nobody(), writing::trial).await
        } else {
            Ok(())
        }
    }

    /// Runs a job on the blocking pool once there is a permit. The permit ends with the job, not
    /// with the request that waits for it: a request given up does not free its connection early.
    /// Permit and thread must be had within one wait; a job that no thread has taken up by then is
    /// withdrawn.
    async fn begin<T: Send + 'static>(
        &self,
        access: Access,
        job: impl FnOnce(&Inner) -> T + Send + 'static,
    ) -> Result<Job<T>, StoreError> {
        #[cfg(any(test, feature = "testing"))]
        testing::gate::pass().await?;
        let semaphore = match access {
            Access::Read => &self.0.reads,
            Access::Write => &self.0.writes,
        };
        let deadline = Instant::now() + self.0.settings.permit_wait;
        let permit = timeout_at(deadline, Arc::clone(semaphore).acquire_owned()).await;
        let Ok(Ok(permit)) = permit else {
            return Err(StoreError::Busy);
        };
        let inner = Arc::clone(&self.0);
        let span = tracing::Span::current();
        let (taken_up, mut begun) = oneshot::channel();
        let handle = spawn_blocking(move || {
            // Nobody hears it when the job was withdrawn: then it must not be done.
            taken_up.send(()).ok()?;
            let outcome = span.in_scope(|| job(&inner));
            drop(permit);
            Some(outcome)
        });
        if timeout_at(deadline, &mut begun).await.is_err() {
            begun.close();
            // It may have begun at this very moment.
            begun.try_recv().map_err(|_| StoreError::Busy)?;
        }
        Ok(handle)
    }
}

/// What a caller wants read; may be done twice. Boxed, as [`Work`] is, so that what leads to it is compiled once a result and not once
/// a caller.
type Reading<T, E> = Box<dyn Fn(&mut Conn) -> Result<T, E> + Send>;

/// What a caller wants written.
type Work<T, E> = Box<dyn FnOnce(&mut Conn) -> Result<T, E> + Send>;

/// A job on the blocking pool; its answer is `None` when it was withdrawn.
type Job<T> = JoinHandle<Option<T>>;

impl Inner {
    /// A reading connection may have died in the pool unnoticed: then once more with a new one.
    fn read<T, E: From<StoreError>>(
        &self,
        work: impl Fn(&mut Conn) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut conn = self.pools.connection(Access::Read)?;
        let outcome = work(&mut conn);
        if outcome.is_ok() || !conn.is_lost() {
            return outcome;
        }
        drop(conn);
        work(&mut self.pools.connection(Access::Read)?)
    }

    fn write<T, E: From<StoreError>>(
        &self,
        clubs: Clubs,
        work: impl FnOnce(&mut Conn) -> Result<T, E>,
        committing: oneshot::Sender<()>,
    ) -> Result<T, E> {
        let mut conn = self.begin_write(clubs)?;
        match work(&mut conn) {
            Ok(value) => {
                // Nobody listens any more when the request was given up; the work counts all the same.
                let _ = committing.send(());
                conn.commit().inspect_err(|_| self.writing.failed())?;
                self.writing.works();
                Ok(value)
            }
            Err(error) => {
                if conn.is_troubled() {
                    self.writing.failed();
                }
                conn.rollback();
                Err(error)
            }
        }
    }

    fn trial<T, E: From<StoreError>>(
        &self,
        clubs: Clubs,
        work: impl FnOnce(&mut Conn) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut conn = self.begin_write(clubs)?;
        let outcome = work(&mut conn).and_then(|value| {
            conn.nothing_passed_over()?;
            Ok(value)
        });
        conn.rollback();
        outcome
    }

    /// Nothing is done before BEGIN, so a dead connection found there is simply replaced.
    fn begin_write(&self, clubs: Clubs) -> Result<Conn, StoreError> {
        self.begun_write(clubs)
            .inspect_err(|_| self.writing.failed())
    }

    fn begun_write(&self, clubs: Clubs) -> Result<Conn, StoreError> {
        let mut conn = self.pools.connection(Access::Write)?;
        match conn.begin(Mode::Write, clubs) {
            Err(_) if conn.is_lost() => {
                drop(conn);
                let mut conn = self.pools.connection(Access::Write)?;
                conn.begin(Mode::Write, clubs)?;
                Ok(conn)
            }
            begun => begun.map(|()| conn),
        }
    }
}

/// Does work that sees one state of the data.
fn in_snapshot<T, E: From<StoreError>>(
    conn: &mut Conn,
    clubs: Clubs,
    work: impl FnOnce(&mut Conn) -> Result<T, E>,
) -> Result<T, E> {
    conn.begin(Mode::Snapshot, clubs)?;
    let outcome = work(conn);
    conn.rollback();
    outcome
}

fn finished<T, E: From<StoreError>>(
    outcome: Result<Option<Result<T, E>>, JoinError>,
) -> Result<T, E> {
    match outcome {
        Ok(Some(outcome)) => outcome,
        Ok(None) => Err(StoreError::Busy.into()),
        // What a panic said may hold values of people; where it was is in the log already.
        Err(error) if error.is_panic() => {
            Err(StoreError::Internal("the database work panicked".into()).into())
        }
        Err(error) => Err(StoreError::Internal(error.to_string()).into()),
    }
}
