//! Notice endpoints: a URL, the squads it wants to hear of, and the secret its messages are signed with.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::Faults;
use super::write::Change;
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
    /// Where to send: https, port 443 or 8443, a host of the public network; at most 2,048 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, max_length = 2048)]
    pub url: Option<String>,
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
    "url": "https://club.example.org/plimsoll", "squads": [], "enabled": true, "disabled_at": null,
    "disabled_why": null, "failing_since": null, "created_at": "2026-11-09T06:10:00Z", "version": 1}))]
pub struct NoticeEndpointAnswer {
    /// Its id.
    pub endpoint_id: NoticeEndpointId,
    /// How notices reach it: webhook.
    #[schema(value_type = String)]
    pub channel: &'static str,
    /// Where to.
    pub url: String,
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
        Self {
            endpoint_id: endpoint.endpoint_id,
            channel: endpoint.channel.code(),
            url: endpoint.address,
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
    /// What messages are signed with (Standard Webhooks 1.0.0). It is not shown again: rotate it when it is lost.
    pub secret: String,
}

impl NoticeEndpointSecret {
    fn new(endpoint: &Endpoint, secret: &[u8]) -> Self {
        Self {
            endpoint_id: endpoint.endpoint_id,
            version: endpoint.version,
            secret: signature::secret_text(secret),
        }
    }
}

/// Stores a new endpoint with a secret of 32 random bytes.
pub fn create(
    change: &mut Change<'_>,
    input: &NoticeEndpointInput,
    reach: Reach,
) -> Result<NoticeEndpointSecret, Problem> {
    let address = checked(change, input, reach)?;
    let secret = change.ids.bytes::<{ signature::SECRET_BYTES }>();
    let mut endpoint = Endpoint {
        endpoint_id: change.new_id(),
        channel: Channel::Webhook,
        address,
        squads: input.squads.clone(),
        secret: Some(secret.to_vec()),
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
    Ok(NoticeEndpointSecret::new(&endpoint, &secret))
}

/// The stored endpoint in the form it could be sent in, for a merge patch.
pub fn as_input(endpoint: &Endpoint) -> NoticeEndpointInput {
    NoticeEndpointInput {
        url: Some(endpoint.address.clone()),
        squads: endpoint.squads.clone(),
        enabled: Some(endpoint.disabled_at.is_none()),
    }
}

/// Gives an endpoint other content; the same content changes nothing. What is pending goes to the new address.
pub fn replace(
    change: &mut Change<'_>,
    mut endpoint: Endpoint,
    input: &NoticeEndpointInput,
    reach: Reach,
) -> Result<NoticeEndpointAnswer, Problem> {
    let address = checked(change, input, reach)?;
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
    let secret = change.ids.bytes::<{ signature::SECRET_BYTES }>();
    endpoint.old_secret = endpoint.secret.replace(secret.to_vec());
    endpoint.old_secret_until = Some(change.at() + signature::OVERLAP);
    endpoint.version += 1;
    let tenant = change.tenant();
    endpoints::save(change.conn, tenant, &endpoint)?;
    Ok(NoticeEndpointSecret::new(&endpoint, &secret))
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
    input: &NoticeEndpointInput,
    reach: Reach,
) -> Result<String, Problem> {
    let mut faults = Faults::default();
    let address = faults.take(address(input.url.as_deref(), reach));
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
    faults.settle(address)
}

/// A URL that may be called, as it was given.
fn address(given: Option<&str>, reach: Reach) -> Result<String, FieldProblem> {
    const ALLOWED: &str = "https, port 443 or 8443, a host of the public network";
    let text = given.ok_or_else(|| FieldProblem::missing("/url", ALLOWED))?;
    match guard::url(text, reach) {
        Ok(_) => Ok(text.to_owned()),
        Err(reason) => Err(
            FieldProblem::new("/url", Code::AddressNotAllowed, shorten_text(text))
                .detail(format!("This URL may not be called: {reason}."))
                .allowed(ALLOWED),
        ),
    }
}
