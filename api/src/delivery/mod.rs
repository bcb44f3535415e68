//! Everything this program sends out of its own accord, and the one guarded way it takes.

pub mod client;
pub mod guard;
pub mod mail_server;
pub mod mailer;
pub mod message;
pub mod retry;
pub mod signature;
pub mod smtp;
pub mod webhook;

use std::future::Future;

use crate::store::notices::deliveries::Delivery;
use crate::store::notices::endpoints::Endpoint;
use crate::store::{AttemptOutcome, Channel, Tenant};

/// What an attempt came to. Nothing of what the other side said but its status and how much it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Outcome {
    /// How it ended.
    pub outcome: AttemptOutcome,
    /// The status answered.
    pub status: Option<u16>,
    /// How many bytes of the answer were read and thrown away.
    pub answer_bytes: Option<u32>,
    /// Seconds that the other side asked to wait.
    pub retry_after: Option<u32>,
    /// Whether another attempt can help.
    pub is_final: bool,
}

impl Outcome {
    /// An attempt that got no answer.
    pub fn unanswered(outcome: AttemptOutcome) -> Self {
        Self {
            outcome,
            status: None,
            answer_bytes: None,
            retry_after: None,
            is_final: false,
        }
    }
}

/// Sends over the network, by the endpoint's channel.
#[derive(Debug, Clone)]
pub struct Network {
    client: client::GuardedClient,
    mailer: Option<mailer::Mailer>,
}

impl Network {
    /// A sender whose calls stay within this reach, and whose mail, if it sends any, goes through this mailer.
    pub fn new(reach: guard::Reach, mailer: Option<mailer::Mailer>) -> Self {
        Self {
            client: client::GuardedClient::new(reach),
            mailer,
        }
    }
}

impl Sender for Network {
    async fn send(
        &self,
        tenant: Tenant,
        endpoint: &Endpoint,
        delivery: &Delivery,
        at: jiff::Timestamp,
    ) -> Outcome {
        match endpoint.channel {
            Channel::Webhook => webhook::post(&self.client, endpoint, delivery, at).await,
            Channel::Email => match &self.mailer {
                Some(mailer) => mailer.send(tenant, endpoint, delivery, at).await,
                None => Outcome::unanswered(AttemptOutcome::NotSent),
            },
        }
    }
}

/// Makes one attempt.
pub trait Sender: Send + Sync + 'static {
    /// Sends a club's delivery to its endpoint, once; `at` is the time that is put into the message.
    fn send(
        &self,
        tenant: Tenant,
        endpoint: &Endpoint,
        delivery: &Delivery,
        at: jiff::Timestamp,
    ) -> impl Future<Output = Outcome> + Send;
}
