//! One attempt by mail: the letter is made when it is sent, of what was known when it became due.
//!
//! So no name, no count and no link lies in the outbox, and every attempt says the same.

use jiff::Timestamp;
use lettre::Address;

use super::mail_server::MailServer;
use super::message::{self, Envelope};
use super::{Outcome, smtp};
use crate::app::App;
use crate::error::Problem;
use crate::services::letter::{self, Wanted};
use crate::store::notices::deliveries::Delivery;
use crate::store::notices::endpoints::Endpoint;
use crate::store::{AttemptOutcome, Tenant};

/// Makes letters and hands them to the mail server.
#[derive(Clone)]
pub struct Mailer {
    app: App,
    server: MailServer,
}

impl std::fmt::Debug for Mailer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.server.fmt(f)
    }
}

impl Mailer {
    /// A mailer for this server.
    pub fn new(app: App, server: MailServer) -> Self {
        Self { app, server }
    }

    /// Sends a delivery to its recipient, once.
    pub async fn send(
        &self,
        tenant: Tenant,
        endpoint: &Endpoint,
        delivery: &Delivery,
        at: Timestamp,
    ) -> Outcome {
        match self.message(tenant, endpoint, delivery, at).await {
            Ok((to, message)) => {
                smtp::hand_over(&self.server, &to, &message, delivery.attempts).await
            }
            Err(problem) => {
                tracing::warn!(detail = %problem.detail, "a letter could not be made");
                Outcome::unanswered(AttemptOutcome::NotSent)
            }
        }
    }

    async fn message(
        &self,
        tenant: Tenant,
        endpoint: &Endpoint,
        delivery: &Delivery,
        at: Timestamp,
    ) -> Result<(Address, Vec<u8>), Problem> {
        let to = address(&endpoint.address)?;
        let wanted = Wanted {
            endpoint: endpoint.clone(),
            delivery: delivery.clone(),
            public_url: self.server.public_url.clone(),
            at,
        };
        let made = letter::make(&self.app, tenant, wanted).await?;
        let reply_to = made.reply_to.as_deref().map(address).transpose()?;
        let envelope = Envelope {
            delivery_id: delivery.delivery_id,
            from: &self.server.from,
            sender_name: &made.sender_name,
            reply_to: reply_to.as_ref(),
            to: &to,
            date: made.date,
        };
        let message = message::write(&envelope, &made.letter);
        Ok((to, message.map_err(|error| Problem::internal(&error))?))
    }
}

/// A stored address was checked before it was stored.
fn address(text: &str) -> Result<Address, Problem> {
    text.parse().map_err(|error| Problem::internal(&error))
}
