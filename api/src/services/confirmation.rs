//! Before notices go to an endpoint it is confirmed: a webhook echoes a challenge, and a club's first recipient of mail is approved
//! by a second person. So nobody is written to who did not ask for it, and no single person lets a club's mail out.
//!
//! What there is to tell meanwhile is kept back for as long as any message is tried, and goes out once the endpoint is confirmed.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::Timestamp;

use super::notices;
use super::write::Change;
use crate::delivery::retry;
use crate::error::{Code, Problem};
use crate::store::Channel;
use crate::store::notices::deliveries::{self, Start};
use crate::store::notices::endpoints::{self, Endpoint};
use crate::store::notices::outbox;

/// When something for an endpoint sets out: when it is due, or, where the endpoint has to be confirmed, once it is.
pub fn start(endpoint: &Endpoint, due_at: Timestamp) -> Start {
    match endpoint.waiting_for() {
        None => Start::at(due_at),
        waiting_for => Start {
            due_at: due_at + retry::SPAN,
            waiting_for,
        },
    }
}

/// Asks a webhook for its echo, with a challenge of 32 random bytes. One that was asked before counts no more.
pub fn ask(change: &mut Change<'_>, endpoint: &mut Endpoint) -> Result<(), Problem> {
    let tenant = change.tenant();
    if let Some(before) = endpoint.challenge_id {
        deliveries::end(change.conn, tenant, before)?;
    }
    let challenge = URL_SAFE_NO_PAD.encode(change.ids.bytes::<32>());
    let asked = notices::enqueue_challenge(change, endpoint, &challenge)?;
    endpoint.challenge_id = Some(asked);
    Ok(endpoints::save(change.conn, tenant, endpoint)?)
}

/// Asks a webhook again at once, with the same challenge and by a new timetable.
pub fn ask_again(change: &mut Change<'_>, endpoint: &mut Endpoint) -> Result<(), Problem> {
    require(endpoint, Channel::Webhook)?;
    let tenant = change.tenant();
    if endpoint.confirmed_at.is_some() {
        return Ok(());
    }
    let Some(asked) = endpoint.challenge_id else {
        return ask(change, endpoint);
    };
    let now = Start::at(change.now());
    for delivery in deliveries::of_notice(change.conn, tenant, asked)? {
        deliveries::redeliver(change.conn, tenant, delivery.delivery_id, now)?;
    }
    Ok(())
}

/// Lets mail go to a recipient; one that it goes to already stays as it is.
///
/// # Errors
/// 403 for whoever entered the address.
pub fn approve(change: &mut Change<'_>, endpoint: &mut Endpoint) -> Result<(), Problem> {
    require(endpoint, Channel::Email)?;
    if endpoint.confirmed_at.is_some() {
        return Ok(());
    }
    if endpoint.entered_by.as_ref() == Some(&change.caller.principal.subject) {
        let detail = "You entered this address: another person approves it.";
        return Err(Problem::new(Code::OwnAddress, detail));
    }
    let (tenant, now) = (change.tenant(), change.now());
    endpoint.confirmed_at = Some(change.at());
    endpoint.version += 1;
    endpoints::save(change.conn, tenant, endpoint)?;
    Ok(outbox::let_go(
        change.conn,
        tenant,
        endpoint.endpoint_id,
        now,
    )?)
}

fn require(endpoint: &Endpoint, channel: Channel) -> Result<(), Problem> {
    if endpoint.channel == channel {
        return Ok(());
    }
    let detail = match endpoint.channel {
        Channel::Webhook => "A webhook is confirmed by its echo and needs no approval.",
        Channel::Email => "A recipient of mail has no challenge to echo.",
    };
    Err(Problem::new(Code::OtherChannel, detail))
}
