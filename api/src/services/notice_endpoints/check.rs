//! Whether an endpoint may be as it is sent: channel, address and squads.

use super::{NoticeEndpointInput, Ways};
use crate::config::MailApproval;
use crate::delivery::guard::{self, Reach};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::NoticeEndpointId;
use crate::services::fields::{self, Faults};
use crate::services::mail_settings;
use crate::services::write::Change;
use crate::store::notices::endpoints::{self, Endpoint};
use crate::store::{Channel, squads};
use crate::web::json::shorten_text;

/// What was found to be in order.
pub(super) struct Checked {
    pub(super) channel: Channel,
    pub(super) address: String,
    /// Whether nobody has to confirm it first.
    pub(super) free: bool,
}

/// Checks all of it, and gives every fault.
pub(super) fn checked(
    change: &mut Change<'_>,
    id: NoticeEndpointId,
    input: &NoticeEndpointInput,
    ways: &Ways,
) -> Result<Checked, Problem> {
    let mut faults = Faults::default();
    let channel = faults.take(channel(input.channel(), ways));
    let address = match channel {
        Some(Channel::Webhook) => faults.take(webhook(input, ways.reach)),
        Some(Channel::Email) => faults.take(recipient(input)),
        None => None,
    };
    let (tenant, mut free) = (change.tenant(), false);
    if let (Some(Channel::Email), Some(address)) = (channel, &address) {
        let mut others = endpoints::recipients(change.conn, tenant)?;
        others.retain(|one| one.endpoint_id != id);
        faults.extend(named_before(&others, address));
        let approved = others.iter().any(|one| one.confirmed_at.is_some());
        free = approved && ways.approval == MailApproval::First;
    }
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
    let found = channel.zip(address).map(|(channel, address)| Checked {
        channel,
        address,
        free,
    });
    faults.settle(found)
}

/// The channel, which must be one that the service has.
fn channel(given: &str, ways: &Ways) -> Result<Channel, FieldProblem> {
    let codes = || fields::list(Channel::ALL.iter().map(|channel| channel.code()));
    let channel = fields::coded("/channel", Some(given), Channel::parse, codes)?;
    if channel == Channel::Email && !ways.missing_for_mail.is_empty() {
        let missing = ways.missing_for_mail.join(", ");
        let without = FieldProblem::new("/channel", Code::MailNotSetUp, given).detail(format!(
            "This service sends no mail. Its operator has not set: {missing}."
        ));
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

/// Whether another recipient has this address: nobody gets the same letter twice.
fn named_before(others: &[Endpoint], address: &str) -> Option<FieldProblem> {
    let other = others
        .iter()
        .any(|one| one.address.eq_ignore_ascii_case(address));
    other.then(|| FieldProblem::new("/address", Code::NotUnique, address))
}
