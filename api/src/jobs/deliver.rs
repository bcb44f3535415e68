//! The delivery worker: takes what is due from the outbox, sends it, and writes down what came of it.
//!
//! Every notice arrives at least once, each time with the same id and the same bytes: a worker that is killed between
//! sending and writing down leaves a lease that runs out, and the delivery is sent again. Endpoints do not wait for each
//! other; within one, deliveries go one after another.

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use tokio::sync::watch;
use tokio::task::{JoinError, JoinSet};
use uuid::Uuid;

use crate::app::App;
use crate::auth::tenant::Caller;
use crate::clock::Clock;
use crate::delivery::{Outcome, Sender, retry};
use crate::error::Problem;
use crate::ids::{ClubId, Ids, LeaseId, NoticeEndpointId, NoticeId};
use crate::services::write::Change;
use crate::services::{mail_hold, notices};
use crate::store::notices::deliveries::{Attempt, Delivery};
use crate::store::notices::endpoints::{self, Endpoint, Standing};
use crate::store::notices::outbox::{self, Next};
use crate::store::{
    AttemptOutcome, Channel, Clubs, Conn, DeliveryState, StoreError, Tenant, WaitingFor, clubs,
};
use crate::telemetry::metrics;

/// How often the outbox is looked at.
const EVERY: Duration = Duration::from_secs(1);
/// Longer than the 20 s that an attempt may take, with time to write it down.
const LEASE: SignedDuration = SignedDuration::from_secs(60);
/// Endpoints served at once.
const AT_ONCE: usize = 64;
/// An endpoint that has failed for so long is shown in the service's health.
pub const ALARM: SignedDuration = SignedDuration::from_hours(24);

/// Delivers an app's notices by a sender.
pub struct Courier<S> {
    app: App,
    sender: S,
}

impl<S: Sender> Courier<S> {
    /// Puts the parts together.
    pub fn new(app: App, sender: S) -> Self {
        Self { app, sender }
    }

    /// Delivers what becomes due while the clock is steady, until it is told to stop; then it takes nothing more, and ends once
    /// what is being sent is sent and written down. Dropped before that, it sends the rest again later.
    pub async fn run(self: Arc<Self>, mut stop: watch::Receiver<bool>) {
        let mut every = tokio::time::interval(EVERY);
        every.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
        let mut busy = HashMap::new();
        let mut tasks = JoinSet::new();
        while !*stop.borrow() {
            tokio::select! {
                _ = every.tick() => {}
                _ = stop.changed() => break,
            }
            while let Some(done) = tasks.try_join_next_with_id() {
                let id = done.as_ref().map_or_else(JoinError::id, |(id, ())| *id);
                busy.retain(|_, task| *task != id);
                if let Err(error) = done {
                    tracing::error!(%error, "an attempt to deliver ended unexpectedly");
                }
            }
            let due = self.due().await.unwrap_or_else(|error| {
                tracing::warn!(%error, "the outbox cannot be read");
                Vec::new()
            });
            for endpoint in due {
                if tasks.len() < AT_ONCE && !busy.contains_key(&endpoint) {
                    let (courier, stop) = (Arc::clone(&self), stop.clone());
                    let task = tasks.spawn(async move { courier.drain(endpoint, &stop).await });
                    busy.insert(endpoint, task.id());
                }
            }
        }
        while tasks.join_next().await.is_some() {}
    }

    /// The endpoints for which something is due; none while the clock is not steady.
    ///
    /// # Errors
    /// Those of the database.
    pub async fn due(&self) -> Result<Vec<(ClubId, NoticeEndpointId)>, StoreError> {
        let Some(now) = self.app.steady_now() else {
            return Ok(Vec::new());
        };
        self.app
            .store
            .read(Clubs::Every, move |conn| outbox::due(conn, now, 1_000))
            .await
    }

    /// Sends to one endpoint until nothing is due for it, or it is told to stop.
    async fn drain(
        &self,
        (club, endpoint): (ClubId, NoticeEndpointId),
        stop: &watch::Receiver<bool>,
    ) {
        let tenant = Tenant::granted(club);
        while !*stop.borrow() {
            match self.send_one(tenant, endpoint).await {
                Ok(true) => {}
                Ok(false) => return,
                Err(problem) => {
                    tracing::warn!(%problem, "a delivery could not be taken up or written down");
                    return;
                }
            }
        }
    }

    /// Sends the delivery that has been due the longest; `false` when there is none to take, or the clock is not steady.
    ///
    /// # Errors
    /// Those of the database: then nothing was sent, or it will be sent again.
    pub async fn send_one(
        &self,
        tenant: Tenant,
        endpoint_id: NoticeEndpointId,
    ) -> Result<bool, Problem> {
        let app = &self.app;
        let Some(at) = app.steady_now() else {
            return Ok(false);
        };
        let (lease, quota) = (app.ids.next(at).into(), app.config.mail_quota);
        let taken = app
            .store
            .write(tenant, move |conn| {
                let Some((endpoint, only)) = ready(conn, tenant, endpoint_id, quota, at)? else {
                    return Ok(None);
                };
                let (wanted, times) = ((endpoint_id, only), (at, at + LEASE));
                let taken = outbox::claim(conn, tenant, wanted, lease, times)?;
                Ok::<_, StoreError>(taken.map(|delivery| (endpoint, delivery)))
            })
            .await?;
        let Some((endpoint, delivery)) = taken else {
            return Ok(false);
        };
        let outcome = self.sender.send(tenant, &endpoint, &delivery, at).await;
        metrics::delivery_attempt(endpoint.channel.code(), outcome.outcome.code());
        let ended = Ended {
            // Where the clock was set while it was sent, the instant before that: it is at most 20 s old.
            at: app.steady_now().unwrap_or(at),
            chance: u8::from_le_bytes(app.ids.bytes()),
            outcome,
        };
        let ids = app.ids.clone();
        app.store
            .write(tenant, move |conn| {
                ended.write_down(conn, tenant, lease, (&endpoint, &delivery), &ids)
            })
            .await?;
        Ok(true)
    }
}

/// The endpoint, where it may be sent to now, and the notice where it is that one alone. What is for one that takes nothing is ended;
/// what is for one that is not confirmed, its challenge apart, is kept back; mail that has to wait is put off.
fn ready(
    conn: &mut Conn,
    tenant: Tenant,
    endpoint_id: NoticeEndpointId,
    mail_quota: u32,
    at: Timestamp,
) -> Result<Option<(Endpoint, Option<NoticeId>)>, StoreError> {
    let endpoint = endpoints::find(conn, tenant, endpoint_id)?;
    let Some(endpoint) = endpoint.filter(|endpoint| endpoint.disabled_at.is_none()) else {
        endpoints::drop_pending(conn, tenant, endpoint_id)?;
        return Ok(None);
    };
    if let Some(what) = endpoint.waiting_for() {
        let challenge = endpoint.challenge_id;
        let others = (endpoint_id, challenge.unwrap_or(Uuid::nil().into()));
        outbox::keep_back(conn, tenant, others, at, (at + retry::SPAN, what))?;
        return Ok(challenge.map(|challenge| (endpoint, Some(challenge))));
    }
    if endpoint.channel == Channel::Email
        && let Some(hold) = mail_hold::hold(conn, tenant, mail_quota, at)?
    {
        outbox::put_off(conn, tenant, endpoint_id, at, hold)?;
        return Ok(None);
    }
    Ok(Some((endpoint, None)))
}

/// An attempt that has ended.
struct Ended {
    at: Timestamp,
    chance: u8,
    outcome: Outcome,
}

impl Ended {
    fn write_down(
        &self,
        conn: &mut Conn,
        tenant: Tenant,
        lease: LeaseId,
        (endpoint, delivery): (&Endpoint, &Delivery),
        ids: &Ids,
    ) -> Result<(), Problem> {
        let attempt = Attempt {
            delivery_id: delivery.delivery_id,
            attempt: delivery.attempts + 1,
            at: self.at,
            outcome: self.outcome.outcome,
            status: self.outcome.status.map(i32::from),
            answer_bytes: self
                .outcome
                .answer_bytes
                .and_then(|bytes| i32::try_from(bytes).ok()),
        };
        let confirms = self.outcome.outcome == AttemptOutcome::Accepted
            && endpoint.is_asked_by(delivery.notice_id);
        let standing = self.standing(endpoint);
        // Before anything else is locked: whoever writes a notice now must see the endpoint as it will be.
        let moment = (confirms || standing.disabled.is_some())
            .then(|| clubs::lock(conn, tenant, Clock::Fixed(self.at)))
            .transpose()?;
        let next = self.next(&attempt, standing.disabled.is_some());
        if !outbox::settle(conn, tenant, lease, &attempt, next)? {
            return Ok(());
        }
        let (id, notice) = (endpoint.endpoint_id, delivery.notice_id);
        let noted = endpoints::note_standing(conn, tenant, id, standing)?;
        if confirms && endpoints::confirm(conn, tenant, id, notice, self.at)? {
            outbox::let_go(conn, tenant, id, self.at)?;
        }
        let Some((at, why)) = standing.disabled else {
            return Ok(());
        };
        endpoints::drop_pending(conn, tenant, id)?;
        match moment.filter(|_| noted) {
            Some(mut moment) => {
                let caller = Caller::job(tenant, "deliver", at);
                let mut change = Change {
                    conn,
                    caller: &caller,
                    moment: &mut moment,
                    ids,
                };
                notices::enqueue_disabled(&mut change, endpoint, why)?;
                Ok(clubs::moment_save(conn, tenant, &moment)?)
            }
            None => Ok(()),
        }
    }

    fn standing(&self, endpoint: &Endpoint) -> Standing {
        let failing_since = match self.outcome.outcome {
            AttemptOutcome::Accepted => None,
            // Our own mail server's trouble is none of the recipient's.
            AttemptOutcome::NotSent => {
                return Standing {
                    failing_since: endpoint.failing_since,
                    disabled: None,
                };
            }
            _ => endpoint.failing_since.or(Some(self.at)),
        };
        let too_long = |since: Timestamp| self.at.duration_since(since) >= retry::GIVE_UP;
        let why = match self.outcome.outcome {
            AttemptOutcome::Gone => Some("gone"),
            _ if failing_since.is_some_and(too_long) => Some("failed_for_5_days"),
            _ => None,
        };
        Standing {
            failing_since,
            disabled: why.map(|why| (self.at, why)),
        }
    }

    fn next(&self, attempt: &Attempt, disabled: bool) -> Next {
        let over = |state| Next {
            state,
            due_at: self.at,
            waiting_for: None,
        };
        if self.outcome.outcome == AttemptOutcome::Accepted {
            return over(DeliveryState::Delivered);
        }
        if disabled || self.outcome.is_final {
            return over(DeliveryState::Failed);
        }
        let asked = self.outcome.retry_after;
        match retry::next(attempt.attempt, self.at, self.chance, asked) {
            Some(due_at) => Next {
                state: DeliveryState::Pending,
                due_at,
                waiting_for: (self.outcome.outcome == AttemptOutcome::NotSent)
                    .then_some(WaitingFor::MailServer),
            },
            None => over(DeliveryState::Failed),
        }
    }
}
