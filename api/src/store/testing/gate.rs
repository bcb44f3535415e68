//! A gate before the store: a simulation holds each call of a future there, lets it through in the order it likes, refuses it,
//! or loses the answer to a commit. Dropping a future that waits at its gate is a crash between two calls.
//!
//! Futures that run outside [`guarded`] meet no gate.

use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::{mpsc, oneshot};

use crate::store::StoreError;

tokio::task_local! {
    static GATE: Gate;
}

#[derive(Debug)]
struct Gate {
    waiting: mpsc::UnboundedSender<Waiting>,
    losing: AtomicBool,
}

/// What becomes of a call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It is done.
    Go,
    /// It is not done, and the caller is told so.
    Refuse,
    /// It is done; a caller who writes is told that nobody knows.
    LoseAnswer,
}

/// A call that waits for its verdict. Dropped, it goes on.
#[derive(Debug)]
pub struct Waiting(oneshot::Sender<Verdict>);

impl Waiting {
    /// Says what becomes of it.
    pub fn judge(self, verdict: Verdict) {
        // A caller that has gone needs no verdict.
        let _ = self.0.send(verdict);
    }
}

/// Runs a future whose calls to the store wait in the returned queue.
pub fn guarded<F: Future>(
    work: F,
) -> (
    impl Future<Output = F::Output>,
    mpsc::UnboundedReceiver<Waiting>,
) {
    let (waiting, queue) = mpsc::unbounded_channel();
    let gate = Gate {
        waiting,
        losing: AtomicBool::new(false),
    };
    (GATE.scope(gate, work), queue)
}

pub(in crate::store) async fn pass() -> Result<(), StoreError> {
    let asked = GATE.try_with(|gate| {
        let (judge, verdict) = oneshot::channel();
        gate.losing.store(false, Ordering::Relaxed);
        gate.waiting.send(Waiting(judge)).ok().map(|()| verdict)
    });
    let Ok(Some(verdict)) = asked else {
        return Ok(());
    };
    match verdict.await {
        Ok(Verdict::Refuse) => Err(StoreError::Unavailable("refused at the gate".to_owned())),
        Ok(Verdict::LoseAnswer) => {
            // Asked for within the gate's own future, so it is there.
            let _ = GATE.try_with(|gate| gate.losing.store(true, Ordering::Relaxed));
            Ok(())
        }
        Ok(Verdict::Go) | Err(_) => Ok(()),
    }
}

pub(in crate::store) fn answer_comes() -> Result<(), StoreError> {
    let lost = GATE.try_with(|gate| gate.losing.swap(false, Ordering::Relaxed));
    if lost.unwrap_or(false) {
        Err(StoreError::OutcomeUnknown)
    } else {
        Ok(())
    }
}
