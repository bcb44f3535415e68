//! Notice endpoints: a URL with the secret its messages are signed with, or a recipient of mail; and the squads it wants to
//! hear of.

mod body;
mod check;

use jiff::Timestamp;

pub use self::body::{NoticeEndpointAnswer, NoticeEndpointInput, NoticeEndpointSecret};
use self::check::checked;
use super::confirmation;
use super::write::Change;
use crate::config::{Config, MailApproval};
use crate::delivery::guard::Reach;
use crate::delivery::signature;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::NoticeEndpointId;
use crate::store::notices::endpoints::{self, Endpoint};
use crate::store::{Channel, Private, WaitingFor};

/// What the service can send, and where to.
#[derive(Debug, Clone)]
pub struct Ways {
    /// Which addresses webhooks may have.
    pub reach: Reach,
    /// The settings that are missing where no mail is sent.
    pub missing_for_mail: Vec<&'static str>,
    /// Which recipients of mail a second person approves.
    pub approval: MailApproval,
}

impl Ways {
    /// As the settings say.
    pub fn of(config: &Config) -> Self {
        Self {
            reach: config.webhook_reach(),
            missing_for_mail: config.missing_for_mail(),
            approval: config.mail_approval,
        }
    }
}

/// Stores a new endpoint, a webhook with a secret of 32 random bytes.
pub fn create(
    change: &mut Change<'_>,
    endpoint_id: NoticeEndpointId,
    input: &NoticeEndpointInput,
    ways: &Ways,
) -> Result<NoticeEndpointSecret, Problem> {
    let found = checked(change, endpoint_id, input, ways)?;
    let mut endpoint = Endpoint {
        endpoint_id,
        channel: found.channel,
        address: found.address.into(),
        squads: input.squads.clone(),
        secret: (found.channel == Channel::Webhook).then(|| new_secret(change)),
        old_secret: None,
        old_secret_until: None,
        failing_since: None,
        disabled_at: None,
        disabled_why: None,
        version: 1,
        created_at: change.at(),
        confirmed_at: found.free.then(|| change.at()),
        challenge_id: None,
        entered_by: Some(change.caller.principal.subject.clone()),
        questions: input.questions(),
    };
    enable(&mut endpoint, input.enabled(), change.at());
    let tenant = change.tenant();
    endpoints::insert(change.conn, tenant, &endpoint)?;
    if wants_asking(&endpoint) {
        confirmation::ask(change, &mut endpoint)?;
    }
    Ok(NoticeEndpointSecret::of(&endpoint))
}

fn new_secret(change: &Change<'_>) -> Private<Vec<u8>> {
    let secret = change.ids.bytes::<{ signature::SECRET_BYTES }>();
    secret.to_vec().into()
}

/// Gives an endpoint other content; the same content changes nothing. At another address it has to be confirmed again, and what is
/// pending goes there then.
pub fn replace(
    change: &mut Change<'_>,
    mut endpoint: Endpoint,
    input: &NoticeEndpointInput,
    mut ways: Ways,
) -> Result<NoticeEndpointAnswer, Problem> {
    if endpoint.channel == Channel::Email {
        // A recipient that is there can be changed, and disabled, also while no mail server is set.
        ways.missing_for_mail.clear();
    }
    let found = checked(change, endpoint.endpoint_id, input, &ways)?;
    if found.channel != endpoint.channel {
        let fixed = FieldProblem::new("/channel", Code::ChannelFixed, found.channel.code());
        return Err(Problem::field(fixed.allowed(endpoint.channel.code())));
    }
    if input.says(&endpoint) {
        return Ok(endpoint.into());
    }
    let (moved, disabled) = (*found.address != *endpoint.address, endpoint.disabled_at);
    if moved {
        endpoint.address = found.address.into();
        endpoint.confirmed_at = found.free.then(|| change.at());
        endpoint.entered_by = Some(change.caller.principal.subject.clone());
    }
    endpoint.squads.clone_from(&input.squads);
    endpoint.questions = input.questions();
    endpoint.version += 1;
    enable(&mut endpoint, input.enabled(), change.at());
    let tenant = change.tenant();
    endpoints::save(change.conn, tenant, &endpoint)?;
    if endpoint.disabled_at.is_some() {
        endpoints::drop_pending(change.conn, tenant, endpoint.endpoint_id)?;
    } else if wants_asking(&endpoint) && (moved || disabled.is_some()) {
        confirmation::ask(change, &mut endpoint)?;
    }
    Ok(endpoint.into())
}

fn wants_asking(endpoint: &Endpoint) -> bool {
    endpoint.disabled_at.is_none() && endpoint.waiting_for() == Some(WaitingFor::Confirmation)
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
