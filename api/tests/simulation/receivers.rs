//! The other side: what it was sent, and what must be true of every message that leaves.

use std::collections::{BTreeMap, BTreeSet};

use jiff::{SignedDuration, Timestamp};
use plimsoll_api::ids::{DeliveryId, NoticeEndpointId, NoticeId};
use plimsoll_api::store::notices::deliveries::Delivery;
use plimsoll_api::store::{AttemptOutcome, DeliveryState};

use crate::task::{Attempted, Sending};

/// The waits of the timetable in seconds (Standard Webhooks 1.0.0, deliverability and reliability), written down here once more
/// so that the service is not judged by itself.
const WAITS: [i64; 9] = [5, 300, 1_800, 7_200, 18_000, 36_000, 50_400, 72_000, 86_400];
/// The longest wait that a `Retry-After` may bring.
const DAY: i64 = 86_400;
/// Whoever has taken a delivery has it for so long.
const LEASE: SignedDuration = SignedDuration::from_secs(60);

#[derive(Default)]
pub(crate) struct Receivers {
    bodies: BTreeMap<(NoticeEndpointId, NoticeId), String>,
    arrived: BTreeSet<DeliveryId>,
    /// When each delivery that is not written down was taken up.
    taken: BTreeMap<DeliveryId, Timestamp>,
    /// When the next attempt may be made.
    due: BTreeMap<DeliveryId, Timestamp>,
    written: BTreeMap<DeliveryId, i32>,
    over: BTreeSet<DeliveryId>,
    /// Deliveries that somebody may have taken who was not told so.
    unseen: BTreeSet<DeliveryId>,
    pub(crate) messages: usize,
    pub(crate) repeated: usize,
}

impl Receivers {
    /// A message leaves: nobody else has it on the way, it is not over, it is time for it, and it says what it always said.
    pub(crate) fn leaves(&mut self, sending: &Sending) {
        let (delivery, at) = (&sending.delivery, sending.at);
        let id = delivery.delivery_id;
        if let Some(before) = self.taken.insert(id, at) {
            let over = before + LEASE;
            assert!(
                at >= over,
                "{id} is sent at {at} while another has it until {over}"
            );
        }
        assert!(
            !self.over.contains(&id),
            "{id} is sent after it was delivered"
        );
        if let Some(due) = self.due.get(&id) {
            assert!(at >= *due, "{id} is sent at {at}, before {due}");
        }
        let key = (delivery.endpoint_id, delivery.notice_id);
        let first = self
            .bodies
            .entry(key)
            .or_insert_with(|| delivery.body.clone());
        assert_eq!(
            *first, delivery.body,
            "{id} says something else than before"
        );
        self.messages += 1;
    }

    /// Somebody asked for a delivery and was not told which: any of those on the way.
    pub(crate) fn taken_unseen(&mut self) {
        self.unseen.extend(self.taken.keys().copied());
    }

    /// A message has come through, whatever its sender learns of that.
    pub(crate) fn arrives(&mut self, sending: &Sending) {
        if !self.arrived.insert(sending.delivery.delivery_id) {
            self.repeated += 1;
        }
    }

    /// Whether a delivery has come through at least once.
    pub(crate) fn has(&self, delivery: DeliveryId) -> bool {
        self.arrived.contains(&delivery)
    }

    /// An attempt was written down, and this is how the delivery stands. Whose lease was lost has written down the attempt alone.
    pub(crate) fn written(&mut self, attempt: &Attempted, row: &Delivery) {
        let id = row.delivery_id;
        let before = self.written.get(&id).copied().unwrap_or(0);
        if row.attempts == before {
            let lost = self.taken.get(&id) != Some(&attempt.taken_at) || self.unseen.contains(&id);
            assert!(
                lost || row.state != DeliveryState::Pending,
                "{id} has an attempt that does not count"
            );
            return;
        }
        assert_eq!(row.attempts, before + 1, "{id} was counted twice");
        self.written.insert(id, row.attempts);
        self.taken.remove(&id);
        self.unseen.remove(&id);
        let accepted = attempt.outcome.outcome == AttemptOutcome::Accepted;
        match row.state {
            DeliveryState::Delivered => {
                assert!(accepted, "{id} is called delivered and was not taken");
                self.over.insert(id);
            }
            _ if accepted => panic!("{id} was taken and is {:?}", row.state),
            DeliveryState::Pending => self.waits(attempt, row),
            DeliveryState::Failed | DeliveryState::Disabled => {}
        }
    }

    fn waits(&mut self, attempt: &Attempted, row: &Delivery) {
        let made = usize::try_from(row.attempts).unwrap();
        let planned = WAITS[made - 1] * 1_000;
        let asked = i64::from(attempt.outcome.retry_after.unwrap_or(0)).min(DAY) * 1_000;
        let wait = row.due_at.duration_since(attempt.ended_at).as_millis();
        let wait = i64::try_from(wait).unwrap();
        let (least, most) = (
            (planned * 9 / 10).max(asked),
            (planned * 11 / 10).max(asked),
        );
        assert!(
            (least..=most).contains(&wait),
            "{} waits {wait} ms after {made} attempts",
            row.delivery_id
        );
        self.due.insert(row.delivery_id, row.due_at);
    }
}
