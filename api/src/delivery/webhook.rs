//! One attempt by webhook: the headers of Standard Webhooks 1.0.0 around a CloudEvents body.

use jiff::Timestamp;
use reqwest::header::{CONTENT_TYPE, HeaderMap, HeaderName, HeaderValue};

use super::client::{CallError, GuardedClient, header};
use super::{Outcome, retry, signature};
use crate::store::AttemptOutcome;
use crate::store::notices::deliveries::Delivery;
use crate::store::notices::endpoints::Endpoint;

/// Posts a delivery and says what came of it.
pub async fn post(
    client: &GuardedClient,
    endpoint: &Endpoint,
    delivery: &Delivery,
    at: Timestamp,
) -> Outcome {
    let headers = headers(endpoint, delivery, at);
    match client
        .post(&endpoint.address, headers, delivery.body.clone())
        .await
    {
        Ok(answer) => Outcome {
            outcome: judged(answer.status),
            status: Some(answer.status),
            answer_bytes: u32::try_from(answer.bytes).ok(),
            retry_after: answer
                .retry_after
                .and_then(|field| retry::seconds(&field, at)),
            is_final: answer.status == 410,
        },
        Err(CallError::Blocked(_)) => Outcome::unanswered(AttemptOutcome::Blocked),
        Err(CallError::TimedOut) => Outcome::unanswered(AttemptOutcome::TimedOut),
        Err(CallError::Unreachable) => Outcome::unanswered(AttemptOutcome::Unreachable),
    }
}

/// A redirect is a refusal: nothing is followed.
fn judged(status: u16) -> AttemptOutcome {
    match status {
        200..=299 => AttemptOutcome::Accepted,
        410 => AttemptOutcome::Gone,
        _ => AttemptOutcome::Refused,
    }
}

fn headers(endpoint: &Endpoint, delivery: &Delivery, at: Timestamp) -> HeaderMap {
    let id = delivery.notice_id.to_string();
    let fields = [
        ("webhook-timestamp", at.as_second().to_string()),
        (
            "webhook-signature",
            signature::sign(endpoint, &id, at, &delivery.body),
        ),
        ("webhook-id", id),
    ];
    let mut headers = HeaderMap::new();
    headers.insert(
        CONTENT_TYPE,
        HeaderValue::from_static("application/cloudevents+json"),
    );
    for (name, value) in fields {
        if let Some(value) = header(&value) {
            headers.insert(HeaderName::from_static(name), value);
        }
    }
    headers
}
