//! A notice endpoint as it is sent and answered.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::delivery::signature;
use crate::ids::{NoticeEndpointId, NoticeId, SquadId};
use crate::store::notices::endpoints::Endpoint;
use crate::store::{Channel, WaitingFor};

/// An endpoint as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"url": "https://club.example.org/plimsoll", "squads": [], "questions": false}))]
pub struct NoticeEndpointInput {
    /// How notices reach it: webhook or email; webhook when left out. It stays as it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channel: Option<String>,
    /// For a webhook, where to send: https, port 443 or 8443, a host of the public network; at most 2,048 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 2048)]
    pub url: Option<String>,
    /// For email, the recipient: one address, at most 254 characters. Each recipient is named once.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 254)]
    pub address: Option<String>,
    /// Only notices about these squads; about all of them when empty or left out.
    #[serde(default)]
    #[schema(max_items = 100)]
    pub squads: Vec<SquadId>,
    /// `true` tells it too that a question was asked, without what was asked: for those who read questions, the strength coaches. `false`
    /// unless given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub questions: Option<bool>,
    /// `false` sends nothing to it; `true` unless given. Enabling one that was disabled after failures starts afresh.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub enabled: Option<bool>,
}

impl NoticeEndpointInput {
    /// The stored endpoint in the form it could be sent in, for a merge patch.
    pub fn of(endpoint: &Endpoint) -> Self {
        let is = |channel| (endpoint.channel == channel).then(|| endpoint.address.to_string());
        Self {
            channel: Some(endpoint.channel.code().to_owned()),
            url: is(Channel::Webhook),
            address: is(Channel::Email),
            squads: endpoint.squads.clone(),
            questions: Some(endpoint.questions),
            enabled: Some(endpoint.disabled_at.is_none()),
        }
    }

    /// Whether it says what is stored, what is left out included.
    pub(super) fn says(&self, endpoint: &Endpoint) -> bool {
        let said = Self {
            channel: Some(self.channel().to_owned()),
            questions: Some(self.questions()),
            enabled: Some(self.enabled()),
            ..self.clone()
        };
        said == Self::of(endpoint)
    }

    pub(super) fn channel(&self) -> &str {
        self.channel.as_deref().unwrap_or(Channel::Webhook.code())
    }

    pub(super) fn questions(&self) -> bool {
        self.questions.unwrap_or(false)
    }

    pub(super) fn enabled(&self) -> bool {
        self.enabled.unwrap_or(true)
    }
}

/// An endpoint as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "endpoint_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "channel": "webhook",
    "url": "https://club.example.org/plimsoll", "address": null, "squads": [], "questions": false, "enabled": true, "disabled_at": null,
    "disabled_why": null, "failing_since": null, "confirmed_at": null, "waiting_for": "confirmation",
    "challenge_notice_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "created_at": "2026-11-09T06:10:00Z", "version": 1}))]
pub struct NoticeEndpointAnswer {
    /// Its id.
    pub endpoint_id: NoticeEndpointId,
    /// How notices reach it: webhook or email.
    #[schema(value_type = String)]
    pub channel: &'static str,
    /// Where to; null for email.
    pub url: Option<String>,
    /// The recipient; null for a webhook.
    pub address: Option<String>,
    /// Only notices about these squads; about all of them when empty.
    pub squads: Vec<SquadId>,
    /// Whether it is told that questions were asked.
    pub questions: bool,
    /// Whether anything is sent to it.
    pub enabled: bool,
    /// Since when nothing is sent to it.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub disabled_at: Option<Timestamp>,
    /// by_hand, gone (it answered 410) or failed_for_5_days.
    pub disabled_why: Option<String>,
    /// Since when no attempt has succeeded; null when the last one did.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub failing_since: Option<Timestamp>,
    /// Since when notices go to it; null until the webhook has echoed its challenge, or the recipient was approved.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub confirmed_at: Option<Timestamp>,
    /// What has to come before notices go to it: confirmation (the webhook has to echo its challenge) or approval (somebody else than
    /// whoever entered the address has to approve the recipient); null once it came.
    #[schema(value_type = Option<String>)]
    pub waiting_for: Option<&'static str>,
    /// The notice that asks a webhook for its echo: its deliveries list every attempt.
    pub challenge_notice_id: Option<NoticeId>,
    /// When it was made.
    #[schema(value_type = String, format = DateTime)]
    pub created_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Endpoint> for NoticeEndpointAnswer {
    fn from(endpoint: Endpoint) -> Self {
        let waiting_for = endpoint.waiting_for().map(WaitingFor::code);
        let (url, address) = match endpoint.channel {
            Channel::Webhook => (Some(endpoint.address.into_inner()), None),
            Channel::Email => (None, Some(endpoint.address.into_inner())),
        };
        Self {
            endpoint_id: endpoint.endpoint_id,
            channel: endpoint.channel.code(),
            url,
            address,
            squads: endpoint.squads,
            questions: endpoint.questions,
            enabled: endpoint.disabled_at.is_none(),
            disabled_at: endpoint.disabled_at,
            disabled_why: endpoint.disabled_why,
            failing_since: endpoint.failing_since,
            confirmed_at: endpoint.confirmed_at,
            waiting_for,
            challenge_notice_id: endpoint.challenge_id,
            created_at: endpoint.created_at,
            version: endpoint.version,
        }
    }
}

/// The new secret of an endpoint, which is shown this once.
#[derive(Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "endpoint_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "version": 1, "waiting_for": "confirmation",
    "secret": "whsec_aW52ZW50ZWQgZm9yIHRoaXMgZXhhbXBsZSBvbmx5"}))]
pub struct NoticeEndpointSecret {
    /// The endpoint.
    pub endpoint_id: NoticeEndpointId,
    /// Its version; also the ETag.
    pub version: i32,
    /// What has to come before notices go to it: confirmation or approval; null where nothing has to.
    #[schema(value_type = Option<String>)]
    pub waiting_for: Option<&'static str>,
    /// What messages are signed with (Standard Webhooks 1.0.0); null for email. It is not shown again: rotate it when it is
    /// lost.
    pub secret: Option<String>,
}

impl NoticeEndpointSecret {
    pub(super) fn of(endpoint: &Endpoint) -> Self {
        Self {
            endpoint_id: endpoint.endpoint_id,
            version: endpoint.version,
            waiting_for: endpoint.waiting_for().map(WaitingFor::code),
            secret: endpoint.secret.as_deref().map(signature::secret_text),
        }
    }
}
