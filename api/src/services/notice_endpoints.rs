//! Notice endpoints: a URL with the secret its messages are signed with, or a recipient of mail; and the squads it wants to
//! hear of.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::mail_settings;
use super::write::Change;
use crate::config::Config;
use crate::delivery::guard::{self, Reach};
use crate::delivery::signature;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{NoticeEndpointId, SquadId};
use crate::store::notices::endpoints::{self, Endpoint};
use crate::store::{Channel, squads};
use crate::web::json::shorten_text;

/// An endpoint as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"url": "https://club.example.org/plimsoll", "squads": []}))]
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
    /// `false` sends nothing to it; `true` unless given. Enabling one that was disabled after failures starts afresh.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub enabled: Option<bool>,
}

/// An endpoint as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "endpoint_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "channel": "webhook",
    "url": "https://club.example.org/plimsoll", "address": null, "squads": [], "enabled": true, "disabled_at": null,
    "disabled_why": null, "failing_since": null, "created_at": "2026-11-09T06:10:00Z", "version": 1}))]
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
    /// When it was made.
    #[schema(value_type = String, format = DateTime)]
    pub created_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Endpoint> for NoticeEndpointAnswer {
    fn from(endpoint: Endpoint) -> Self {
        let (url, address) = match endpoint.channel {
            Channel::Webhook => (Some(endpoint.address), None),
            Channel::Email => (None, Some(endpoint.address)),
        };
        Self {
            endpoint_id: endpoint.endpoint_id,
            channel: endpoint.channel.code(),
            url,
            address,
            squads: endpoint.squads,
            enabled: endpoint.disabled_at.is_none(),
            disabled_at: endpoint.disabled_at,
            disabled_why: endpoint.disabled_why,
            failing_since: endpoint.failing_since,
            created_at: endpoint.created_at,
            version: endpoint.version,
        }
    }
}

/// The new secret of an endpoint, which is shown this once.
#[derive(Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "endpoint_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "version": 1,
    "secret": "whsec_aW52ZW50ZWQgZm9yIHRoaXMgZXhhbXBsZSBvbmx5"}))]
pub struct NoticeEndpointSecret {
    /// The endpoint.
    pub endpoint_id: NoticeEndpointId,
    /// Its version; also the ETag.
    pub version: i32,
    /// What messages are signed with (Standard Webhooks 1.0.0); null for email. It is not shown again: rotate it when it is
    /// lost.
    pub secret: Option<String>,
}

impl NoticeEndpointSecret {
    fn of(endpoint: &Endpoint) -> Self {
        Self {
            endpoint_id: endpoint.endpoint_id,
            version: endpoint.version,
            secret: endpoint.secret.as_deref().map(signature::secret_text),
        }
    }
}

/// What the service can send, and where to.
#[derive(Debug, Clone, Copy)]
pub struct Ways {
    /// Which addresses webhooks may have.
    pub reach: Reach,
    /// Whether there is a server that mail is handed to.
    pub mail: bool,
}

impl Ways {
    /// As the settings say.
    pub fn of(config: &Config) -> Self {
        Self {
            reach: config.webhook_reach(),
            mail: config.smtp_url.is_some(),
        }
    }
}

/// Stores a new endpoint, a webhook with a secret of 32 random bytes.
pub fn create(
    change: &mut Change<'_>,
    input: &NoticeEndpointInput,
    ways: Ways,
) -> Result<NoticeEndpointSecret, Problem> {
    let endpoint_id = change.new_id();
    let (channel, address) = checked(change, endpoint_id, input, ways)?;
    let secret = match channel {
        Channel::Webhook => Some(new_secret(change)),
        Channel::Email => None,
    };
    let mut endpoint = Endpoint {
        endpoint_id,
        channel,
        address,
        squads: input.squads.clone(),
        secret,
        old_secret: None,
        old_secret_until: None,
        failing_since: None,
        disabled_at: None,
        disabled_why: None,
        version: 1,
        created_at: change.at(),
    };
    enable(&mut endpoint, input.enabled.unwrap_or(true), change.at());
    let tenant = change.tenant();
    endpoints::insert(change.conn, tenant, &endpoint)?;
    Ok(NoticeEndpointSecret::of(&endpoint))
}

fn new_secret(change: &Change<'_>) -> Vec<u8> {
    let secret = change.ids.bytes::<{ signature::SECRET_BYTES }>();
    secret.to_vec()
}

/// The stored endpoint in the form it could be sent in, for a merge patch.
pub fn as_input(endpoint: &Endpoint) -> NoticeEndpointInput {
    let is = |channel| (endpoint.channel == channel).then(|| endpoint.address.clone());
    NoticeEndpointInput {
        channel: Some(endpoint.channel.code().to_owned()),
        url: is(Channel::Webhook),
        address: is(Channel::Email),
        squads: endpoint.squads.clone(),
        enabled: Some(endpoint.disabled_at.is_none()),
    }
}

/// Gives an endpoint other content; the same content changes nothing. What is pending goes to the new address.
pub fn replace(
    change: &mut Change<'_>,
    mut endpoint: Endpoint,
    input: &NoticeEndpointInput,
    ways: Ways,
) -> Result<NoticeEndpointAnswer, Problem> {
    // A recipient that is there can be changed, and disabled, also while no mail server is set.
    let ways = Ways {
        mail: ways.mail || endpoint.channel == Channel::Email,
        ..ways
    };
    let (channel, address) = checked(change, endpoint.endpoint_id, input, ways)?;
    if channel != endpoint.channel {
        let fixed = FieldProblem::new("/channel", Code::ChannelFixed, channel.code());
        return Err(Problem::field(fixed.allowed(endpoint.channel.code())));
    }
    if *input == as_input(&endpoint) {
        return Ok(endpoint.into());
    }
    endpoint.address = address;
    endpoint.squads.clone_from(&input.squads);
    endpoint.version += 1;
    enable(&mut endpoint, input.enabled.unwrap_or(true), change.at());
    let tenant = change.tenant();
    endpoints::save(change.conn, tenant, &endpoint)?;
    if endpoint.disabled_at.is_some() {
        endpoints::drop_pending(change.conn, tenant, endpoint.endpoint_id)?;
    }
    Ok(endpoint.into())
}

/// Gives an endpoint a new secret; the one before signs too for 24 hours more.
pub fn rotate(
    change: &mut Change<'_>,
    mut endpoint: Endpoint,
) -> Result<NoticeEndpointSecret, Problem> {
    if endpoint.channel != Channel::Webhook {
        let detail = "Mail is not signed, so this recipient has no secret.";
        return Err(Problem::new(Code::ChannelFixed, detail));
    }
    endpoint.old_secret = endpoint.secret.replace(new_secret(change));
    endpoint.old_secret_until = Some(change.at() + signature::OVERLAP);
    endpoint.version += 1;
    let tenant = change.tenant();
    endpoints::save(change.conn, tenant, &endpoint)?;
    Ok(NoticeEndpointSecret::of(&endpoint))
}

/// An endpoint of the club, or 404.
pub fn find(change: &mut Change<'_>, id: NoticeEndpointId) -> Result<Endpoint, Problem> {
    let tenant = change.tenant();
    endpoints::find(change.conn, tenant, id)?.ok_or_else(Problem::not_found)
}

/// Refuses to send to an endpoint that is disabled or gone.
pub fn require_enabled(change: &mut Change<'_>, id: NoticeEndpointId) -> Result<Endpoint, Problem> {
    let tenant = change.tenant();
    let endpoint = endpoints::find(change.conn, tenant, id)?;
    endpoint
        .filter(|endpoint| endpoint.disabled_at.is_none())
        .ok_or_else(|| Problem::new(Code::EndpointDisabled, "Nothing is sent to this endpoint."))
}

fn enable(endpoint: &mut Endpoint, enabled: bool, now: Timestamp) {
    if enabled == endpoint.disabled_at.is_none() {
        return;
    }
    endpoint.failing_since = None;
    endpoint.disabled_at = (!enabled).then_some(now);
    endpoint.disabled_why = (!enabled).then(|| "by_hand".to_owned());
}

fn checked(
    change: &mut Change<'_>,
    id: NoticeEndpointId,
    input: &NoticeEndpointInput,
    ways: Ways,
) -> Result<(Channel, String), Problem> {
    let mut faults = Faults::default();
    let channel = faults.take(channel(input.channel.as_deref(), ways));
    let address = match channel {
        Some(Channel::Webhook) => faults.take(webhook(input, ways.reach)),
        Some(Channel::Email) => faults.take(recipient(input)),
        None => None,
    };
    if let (Some(Channel::Email), Some(address)) = (channel, &address) {
        faults.extend(named_before(change, id, address)?);
    }
    let tenant = change.tenant();
    if input.squads.len() > 100 {
        let many = FieldProblem::new("/squads", Code::OutOfRange, input.squads.len());
        faults.extend([many.allowed("at most 100 squads")]);
        return faults.settle(None);
    }
    let known = squads::all(change.conn, tenant)?;
    for (at, squad) in input.squads.iter().enumerate() {
        if known.iter().all(|known| known.squad_id != *squad) {
            let pointer = format!("/squads/{at}");
            let unknown = FieldProblem::new(pointer, Code::UnknownSquad, squad.to_string());
            faults.extend([unknown.allowed("a squad of this club")]);
        }
    }
    faults.settle(channel.zip(address))
}

/// The channel, which must be one that the service has.
fn channel(given: Option<&str>, ways: Ways) -> Result<Channel, FieldProblem> {
    let codes = || fields::list(Channel::ALL.iter().map(|channel| channel.code()));
    let given = given.unwrap_or(Channel::Webhook.code());
    let channel = fields::coded("/channel", Some(given), Channel::parse, codes)?;
    if channel == Channel::Email && !ways.mail {
        let without = FieldProblem::new("/channel", Code::MailNotSetUp, given);
        return Err(without.allowed(Channel::Webhook.code()));
    }
    Ok(channel)
}

/// A URL that may be called, as it was given.
fn webhook(input: &NoticeEndpointInput, reach: Reach) -> Result<String, FieldProblem> {
    const ALLOWED: &str = "https, port 443 or 8443, a host of the public network";
    none_of(
        "/address",
        input.address.as_deref(),
        "nothing, for a webhook",
    )?;
    let text = input.url.as_deref();
    let text = text.ok_or_else(|| FieldProblem::missing("/url", ALLOWED))?;
    match guard::url(text, reach) {
        Ok(_) => Ok(text.to_owned()),
        Err(reason) => Err(
            FieldProblem::new("/url", Code::AddressNotAllowed, shorten_text(text))
                .detail(format!("This URL may not be called: {reason}."))
                .allowed(ALLOWED),
        ),
    }
}

/// A recipient's address, as it was given.
fn recipient(input: &NoticeEndpointInput) -> Result<String, FieldProblem> {
    none_of("/url", input.url.as_deref(), "nothing, for email")?;
    mail_settings::address("/address", input.address.as_deref())
}

fn none_of(pointer: &str, given: Option<&str>, allowed: &str) -> Result<(), FieldProblem> {
    given.map_or(Ok(()), |given| {
        Err(FieldProblem::new(pointer, Code::UnknownValue, shorten_text(given)).allowed(allowed))
    })
}

/// Whether the club has another recipient of this address: nobody gets the same letter twice.
fn named_before(
    change: &mut Change<'_>,
    id: NoticeEndpointId,
    address: &str,
) -> Result<Option<FieldProblem>, Problem> {
    let tenant = change.tenant();
    let recipients = endpoints::recipients(change.conn, tenant)?;
    let other = recipients
        .iter()
        .any(|one| one.endpoint_id != id && one.address.eq_ignore_ascii_case(address));
    Ok(other.then(|| FieldProblem::new("/address", Code::NotUnique, address)))
}
