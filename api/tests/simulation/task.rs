//! A piece of the service at work, driven from stop to stop.
//!
//! It stops before each call to the store and while it sends. What happens at a stop, and what happens to others before it goes
//! on, is for the simulation to say; dropping a task at a stop is a crash there.

use std::pin::Pin;

use jiff::Timestamp;
use plimsoll_api::delivery::{Outcome, Sender};
use plimsoll_api::error::Problem;
use plimsoll_api::store::notices::deliveries::Delivery;
use plimsoll_api::store::notices::endpoints::Endpoint;
use plimsoll_api::store::testing::gate::{Waiting, guarded};
use plimsoll_api::store::{AttemptOutcome, Tenant};
use plimsoll_api::web::reply::Reply;
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::sync::oneshot;

/// What a task comes to.
pub(crate) enum End {
    /// It looked, or delivered; in a word, for the trace.
    Job(&'static str),
    /// A write of a client was answered.
    Answer(usize, Result<Reply, Problem>),
}

/// Where a task waits.
pub(crate) enum Stop {
    /// Before a call to the store.
    Store(Waiting),
    /// While a message is on its way.
    Sending(Sending),
}

/// A message on its way.
pub(crate) struct Sending {
    pub(crate) delivery: Delivery,
    /// When it was taken up, by the clock of the one who sends it.
    pub(crate) at: Timestamp,
    answer: oneshot::Sender<Outcome>,
}

impl Sending {
    /// The other side's answer, or what stands for one.
    pub(crate) fn answer(self, outcome: Outcome) {
        let _ = self.answer.send(outcome);
    }
}

/// A sender whose messages go to the simulation.
pub(crate) struct Post(UnboundedSender<Sending>);

impl Sender for Post {
    async fn send(&self, _: Tenant, _: &Endpoint, delivery: &Delivery, at: Timestamp) -> Outcome {
        let (answer, answered) = oneshot::channel();
        let delivery = delivery.clone();
        let _ = self.0.send(Sending {
            delivery,
            at,
            answer,
        });
        let nobody = Outcome::unanswered(AttemptOutcome::Unreachable);
        answered.await.unwrap_or(nobody)
    }
}

pub(crate) struct Task {
    /// Which machine it runs on.
    pub(crate) machine: usize,
    pub(crate) name: String,
    pub(crate) stop: Option<Stop>,
    /// The attempt that it has to write down.
    pub(crate) unwritten: Option<Attempted>,
    work: Pin<Box<dyn Future<Output = End>>>,
    calls: UnboundedReceiver<Waiting>,
    messages: UnboundedReceiver<Sending>,
}

/// An attempt that has ended and is not written down yet.
pub(crate) struct Attempted {
    pub(crate) delivery: Delivery,
    pub(crate) taken_at: Timestamp,
    pub(crate) ended_at: Timestamp,
    pub(crate) outcome: Outcome,
}

impl Task {
    /// A task that has not begun; `work` is given the sender it may use.
    pub(crate) fn new<F: Future<Output = End> + 'static>(
        machine: usize,
        name: String,
        work: impl FnOnce(Post) -> F,
    ) -> Self {
        let (post, messages) = unbounded_channel();
        let (work, calls) = guarded(work(Post(post)));
        Self {
            machine,
            name,
            stop: None,
            unwritten: None,
            work: Box::pin(work),
            calls,
            messages,
        }
    }

    /// Runs it to its next stop, or to its end.
    pub(crate) async fn drive(&mut self) -> Option<End> {
        tokio::select! {
            biased;
            Some(call) = self.calls.recv() => self.stop = Some(Stop::Store(call)),
            Some(message) = self.messages.recv() => self.stop = Some(Stop::Sending(message)),
            end = &mut self.work => return Some(end),
        }
        None
    }
}
