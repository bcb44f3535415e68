//! Everything a request may use, made once at start and passed to every worker.

use std::ops::Deref;
use std::sync::Arc;

use jiff::Timestamp;
use tokio::sync::watch;

use crate::auth::Verifier;
use crate::clock::Clock;
use crate::clock_watch::ClockWatch;
use crate::config::Config;
use crate::ids::Ids;
use crate::jobs::watch::Watch;
use crate::services::audit::AuditLog;
use crate::services::page_link::LinkKey;
use crate::services::revocations::Revocations;
use crate::services::sandboxes::{Hand, Sandboxes};
use crate::store::Store;
use crate::web::rate_limit::Limiter;

/// The application: settings, store, clock, ids, keys. Cloning shares them.
#[derive(Clone)]
pub struct App(Arc<Parts>);

impl App {
    /// Puts the parts together.
    pub fn new(parts: Parts) -> Self {
        Self(Arc::new(parts))
    }

    /// The time, unless the machine's clock was set by more than a day since the start: for what the service does by itself.
    pub fn steady_now(&self) -> Option<Timestamp> {
        self.clock_watch.steady_now(self.clock)
    }

    /// Whether this is a sandbox: invented people, a clock of its own, nothing sent.
    pub fn is_sandbox(&self) -> bool {
        self.hand.is_some()
    }

    /// Whether the program was asked to stop.
    pub fn is_stopping(&self) -> bool {
        *self.stop.borrow()
    }
}

impl Deref for App {
    type Target = Parts;

    fn deref(&self) -> &Parts {
        &self.0
    }
}

/// What the application is made of.
pub struct Parts {
    /// Settings as read at start.
    pub config: Config,
    /// The database.
    pub store: Store,
    /// The one source of time.
    pub clock: Clock,
    /// Whether the machine's clock can be believed.
    pub clock_watch: ClockWatch,
    /// The one source of ids.
    pub ids: Ids,
    /// Checks bearer tokens.
    pub verifier: Verifier,
    /// Quotas of all callers.
    pub limiter: Limiter,
    /// Tokens that are no longer accepted.
    pub revocations: Revocations,
    /// How closing weeks goes.
    pub closing: Watch,
    /// How looking ahead goes.
    pub looking_ahead: Watch,
    /// How signing the ends of audit lists goes.
    pub signing: Watch,
    /// How erasing what is due goes.
    pub retention: Watch,
    /// Who read whose record.
    pub audit: AuditLog,
    /// Signs links to pages.
    pub links: LinkKey,
    /// The sandboxes that this application keeps; none within one of them.
    pub sandboxes: Sandboxes,
    /// What moves the clock, where this is a sandbox.
    pub hand: Option<Hand>,
    /// Says that the program was asked to stop.
    pub stop: watch::Sender<bool>,
}
