//! An issuer's key set: fetched, kept, renewed, and kept on through an outage.
//!
//! - Keys younger than `max_age` answer at once.
//! - Older keys, or a `kid` not in the set, cause a fetch; one at a time, and none sooner than
//!   `refetch` after the last. Made-up `kid`s can therefore not be used to hammer the issuer.
//! - While a fetch is under way or has failed, the last good set goes on being used, up to
//!   `stale_limit`. After that no token of this issuer is accepted.
//! - Before the first good set, fetches are tried again after five seconds.
//!
//! Time is passed in. Ages are taken without sign, so that a clock set back counts as age as well and
//! never keeps an old set alive.

use std::sync::Arc;

use arc_swap::ArcSwap;
use jiff::{SignedDuration, Timestamp};
use tokio::sync::Mutex;

use super::fetch::{self, FetchError};
use super::keys::{KeySet, PublicKey};
use super::settings::{JwksUrl, RefreshTimes};

/// The wait between fetches while there is no set at all: an issuer that starts after the service.
const RETRY_WITHOUT_KEYS: SignedDuration = SignedDuration::from_secs(5);

/// The key set of one issuer.
#[derive(Debug)]
pub struct Jwks {
    issuer: String,
    address: JwksUrl,
    times: RefreshTimes,
    client: reqwest::Client,
    state: ArcSwap<State>,
    /// Held during a fetch: at most one is under way.
    flight: Mutex<()>,
}

#[derive(Clone, Debug, Default)]
struct State {
    keys: Arc<KeySet>,
    fetched_at: Option<Timestamp>,
    tried_at: Option<Timestamp>,
    last_error: Option<FetchError>,
}

/// Why there is no key for a token.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoKey {
    /// The issuer's current set has no such `kid`.
    Unknown,
    /// It cannot be told: the keys were never fetched, or too long ago, or the last fetch failed and
    /// the set of before has no such `kid`.
    Unavailable,
}

/// How an issuer's key set stands, for `/health/ready`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeySetStatus {
    /// The issuer.
    pub issuer: String,
    /// When the set in use was fetched; `None` before the first.
    pub fetched_at: Option<Timestamp>,
    /// Why the last fetch failed; `None` when it did not.
    pub last_error: Option<FetchError>,
    /// How many usable keys the set in use has.
    pub keys: usize,
    /// Whether tokens of this issuer can be checked now: keys there, and not past `stale_limit`.
    pub usable: bool,
}

impl Jwks {
    /// A key set that has not been fetched yet.
    pub fn new(
        issuer: String,
        address: JwksUrl,
        times: RefreshTimes,
        client: reqwest::Client,
    ) -> Arc<Jwks> {
        Arc::new(Jwks {
            issuer,
            address,
            times,
            client,
            state: ArcSwap::default(),
            flight: Mutex::new(()),
        })
    }

    /// The key with this `kid`, after a fetch where one is due.
    ///
    /// # Errors
    /// [`NoKey`].
    pub async fn key(self: &Arc<Self>, kid: &str, now: Timestamp) -> Result<Arc<PublicKey>, NoKey> {
        let state = self.state.load_full();
        if let Ok(key) = state.key(kid, now, self.times.stale_limit)
            // A key that may still be used does not wait for somebody else's fetch.
            && (self.is_fresh(&state, now) || self.flight.try_lock().is_err())
        {
            return Ok(key);
        }
        self.fetch_if_due(now).await;
        self.state.load().key(kid, now, self.times.stale_limit)
    }

    /// Fetches the set when there is none or it is older than `max_age`, but not sooner than
    /// `refetch` after the last fetch. Failure is logged and kept in the status.
    pub async fn renew(self: &Arc<Self>, now: Timestamp) {
        if !self.is_fresh(&self.state.load(), now) {
            self.fetch_if_due(now).await;
        }
    }

    /// How the set stands.
    pub fn status(&self, now: Timestamp) -> KeySetStatus {
        let state = self.state.load();
        KeySetStatus {
            issuer: self.issuer.clone(),
            fetched_at: state.fetched_at,
            last_error: state.last_error,
            keys: state.keys.len(),
            usable: !state.keys.is_empty() && within(state.fetched_at, now, self.times.stale_limit),
        }
    }

    /// Fetches the set unless that was just tried; waits for a fetch under way.
    async fn fetch_if_due(self: &Arc<Self>, now: Timestamp) {
        if !self.may_fetch(now) {
            return;
        }
        // In a task of its own: a caller that goes away does not break off a fetch others wait for.
        let jwks = Arc::clone(self);
        let task = tokio::spawn(async move {
            let _one_at_a_time = jwks.flight.lock().await;
            // Whoever waited finds it done.
            if jwks.may_fetch(now) {
                jwks.fetch(now).await;
            }
        });
        if task.await.is_err() {
            tracing::warn!(
                issuer = self.issuer,
                "the fetch of the key set was broken off"
            );
        }
    }

    fn is_fresh(&self, state: &State, now: Timestamp) -> bool {
        within(state.fetched_at, now, self.times.max_age)
    }

    fn may_fetch(&self, now: Timestamp) -> bool {
        let state = self.state.load();
        let wait = match state.fetched_at {
            Some(_) => self.times.refetch,
            None => RETRY_WITHOUT_KEYS.min(self.times.refetch),
        };
        !within(state.tried_at, now, wait)
    }

    async fn fetch(&self, now: Timestamp) {
        let result = fetch::key_set(&self.client, &self.address).await;
        let after = match result {
            Ok(keys) => State {
                keys: Arc::new(keys),
                fetched_at: Some(now),
                tried_at: Some(now),
                last_error: None,
            },
            Err(error) => {
                tracing::warn!(issuer = self.issuer, %error, "the key set could not be fetched");
                let good = State::clone(&self.state.load());
                State {
                    tried_at: Some(now),
                    last_error: Some(error),
                    ..good
                }
            }
        };
        self.state.store(Arc::new(after));
    }
}

impl State {
    fn key(
        &self,
        kid: &str,
        now: Timestamp,
        stale_limit: SignedDuration,
    ) -> Result<Arc<PublicKey>, NoKey> {
        if !within(self.fetched_at, now, stale_limit) {
            return Err(NoKey::Unavailable);
        }
        // After a failed fetch the key may exist without our knowing it.
        let absent = self
            .last_error
            .map_or(NoKey::Unknown, |_| NoKey::Unavailable);
        self.keys.get(kid).ok_or(absent)
    }
}

/// Whether `then` is less than `span` away from `now`, on either side.
fn within(then: Option<Timestamp>, now: Timestamp, span: SignedDuration) -> bool {
    then.is_some_and(|then| now.duration_since(then).abs() < span)
}
