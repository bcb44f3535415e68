//! One attempt by webhook: the headers of Standard Webhooks 1.0.0 around a CloudEvents body.

use jiff::Timestamp;
use reqwest::header::{CONTENT_TYPE, HeaderMap, HeaderName, HeaderValue};
use serde_json::Value;

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
            outcome: match judged(answer.status) {
                AttemptOutcome::Accepted if !echoes(endpoint, delivery, &answer.said) => {
                    AttemptOutcome::NotEchoed
                }
                outcome => outcome,
            },
            status: Some(answer.status),
            answer_bytes: u32::try_from(answer.said.len()).ok(),
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

/// Whether an answer repeats the challenge, where the message is one that the endpoint waits for.
fn echoes(endpoint: &Endpoint, delivery: &Delivery, said: &[u8]) -> bool {
    if !endpoint.is_asked_by(delivery.notice_id) {
        return true;
    }
    let asked: Option<Value> = serde_json::from_str(&delivery.body).ok();
    let said: Option<Value> = serde_json::from_slice(said).ok();
    let asked = asked
        .as_ref()
        .and_then(|it| it["data"]["challenge"].as_str());
    let said = said.as_ref().and_then(|it| it["challenge"].as_str());
    asked.is_some() && asked == said
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
