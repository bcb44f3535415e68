//! How the last look of a job went.

use std::sync::{Mutex, PoisonError};

use jiff::Timestamp;

/// How the last look went, for health.
#[derive(Debug, Default)]
pub struct Watch(Mutex<Seen>);

/// What the last look came to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Seen {
    /// Clubs for which something is due that could not be done, or that could not be looked at.
    pub failing: usize,
    /// When everything due was last done.
    pub in_order: Option<Timestamp>,
}

impl Watch {
    /// What the last look came to.
    pub fn seen(&self) -> Seen {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Notes what a look came to.
    pub fn note(&self, failing: usize, now: Timestamp) {
        let mut seen = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        seen.failing = failing;
        if failing == 0 {
            seen.in_order = Some(now);
        }
    }
}
