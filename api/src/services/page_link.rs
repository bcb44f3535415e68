//! Links by which one recipient opens one weekly list in a browser, without a token of an issuer.
//!
//! A link is `base64url(claim) "." base64url(HMAC-SHA-256(key, "link" 0x00 claim))` (RFC 4648 section 5, RFC 2104), where the
//! claim names recipient, list and end. Nothing is stored: what ends a link early is the recipient, who is looked up each
//! time. Each change that somebody makes to the recipient gives it another version, and ends the links signed before.

use std::fmt::Write;
use std::path::Path;

use aws_lc_rs::{constant_time, hmac};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::IsoWeek;

use crate::auth::key_file::{self, KeyFileError, SECRET_OCTETS};
use crate::ids::{ClubId, NoticeEndpointId, SquadId};
use crate::store::notices::endpoints::{self, Endpoint};
use crate::store::{Conn, StoreError, Tenant};

/// How long a link opens its list.
pub const VALID: SignedDuration = SignedDuration::from_hours(7 * 24);

/// The weekly list of one squad.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ListId {
    /// The club.
    pub club: ClubId,
    /// The squad.
    pub squad: SquadId,
    /// The week.
    pub week: IsoWeek,
}

impl ListId {
    /// Where the list is.
    pub fn path(&self) -> String {
        let Self { club, squad, week } = self;
        format!("/v1/clubs/{club}/squads/{squad}/weeks/{week}")
    }
}

/// What a link lets whom do until when: read one weekly list, and say what was done about its flags.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// Who was sent it.
    pub recipient: NoticeEndpointId,
    /// The recipient's version when it was signed.
    pub recipient_version: i32,
    /// What it opens.
    pub list: ListId,
    /// From when on it opens nothing.
    pub expires: Timestamp,
}

impl Link {
    /// A link for a recipient, good for [`VALID`].
    pub fn to(recipient: &Endpoint, list: ListId, now: Timestamp) -> Self {
        Self {
            recipient: recipient.endpoint_id,
            recipient_version: recipient.version,
            list,
            expires: now.checked_add(VALID).unwrap_or(Timestamp::MAX),
        }
    }

    /// Its fields in one spelling each.
    fn claim(&self) -> String {
        let ListId { club, squad, week } = self.list;
        let (recipient, version) = (self.recipient, self.recipient_version);
        let expires = self.expires.as_second();
        format!("{club} {recipient} {version} {squad} {week} {expires}")
    }

    fn of_claim(claim: &str) -> Option<Self> {
        let mut fields = claim.split(' ');
        let mut next = || fields.next();
        let club = next()?.parse().ok()?;
        let recipient = next()?.parse().ok()?;
        let recipient_version = next()?.parse().ok()?;
        let squad = next()?.parse().ok()?;
        let week = next()?.parse().ok()?;
        let expires = Timestamp::from_second(next()?.parse().ok()?).ok()?;
        let list = ListId { club, squad, week };
        fields.next().is_none().then_some(Self {
            recipient,
            recipient_version,
            list,
            expires,
        })
    }
}

/// Why a link opens nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LinkError {
    /// It was not signed with this key, or is not whole.
    #[error("the link is not whole")]
    NotSigned,
    /// Its time is over.
    #[error("the link has expired")]
    Expired,
}

/// The key that links and forms are signed with.
#[derive(Clone)]
pub struct LinkKey(hmac::Key);

impl LinkKey {
    /// Reads the key from `path`; makes it when there is no such file.
    ///
    /// # Errors
    /// [`KeyFileError`].
    pub fn open(path: &Path) -> Result<Self, KeyFileError> {
        key_file::secret(path).map(|octets| Self::new(&octets))
    }

    fn new(octets: &[u8; SECRET_OCTETS]) -> Self {
        Self(hmac::Key::new(hmac::HMAC_SHA256, octets))
    }

    /// The path that opens the link's list, to be put behind the service's public address.
    pub fn path(&self, link: &Link) -> String {
        format!("/pages/{}", self.sign(link))
    }

    /// The link as an opaque text, safe in a path and in a cookie.
    pub fn sign(&self, link: &Link) -> String {
        let claim = link.claim();
        let mut text = URL_SAFE_NO_PAD.encode(&claim);
        // Writing to a String cannot fail.
        let _ = write!(text, ".{}", self.seal("link", &claim));
        text
    }

    /// What a text says that [`LinkKey::sign`] made.
    ///
    /// # Errors
    /// [`LinkError`].
    pub fn read(&self, text: &str, now: Timestamp) -> Result<Link, LinkError> {
        let (claim, seal) = text.split_once('.').ok_or(LinkError::NotSigned)?;
        let claim = URL_SAFE_NO_PAD.decode(claim).ok();
        let claim = claim.and_then(|claim| String::from_utf8(claim).ok());
        let claim = claim.ok_or(LinkError::NotSigned)?;
        if !self.holds("link", &claim, seal) {
            return Err(LinkError::NotSigned);
        }
        let link = Link::of_claim(&claim).ok_or(LinkError::NotSigned)?;
        if link.expires <= now {
            return Err(LinkError::Expired);
        }
        Ok(link)
    }

    /// What a form on a page must carry, so that only a page sent to this holder of a link can have made it.
    pub fn form_token(&self, link: &str) -> String {
        self.seal("form", link)
    }

    /// Whether a form carries the token of this link.
    pub fn is_form_token(&self, link: &str, token: &str) -> bool {
        self.holds("form", link, token)
    }

    /// The keyed hash of a text for one use of the key.
    fn seal(&self, usage: &str, text: &str) -> String {
        let mut context = hmac::Context::with_key(&self.0);
        context.update(usage.as_bytes());
        context.update(&[0]);
        context.update(text.as_bytes());
        URL_SAFE_NO_PAD.encode(context.sign())
    }

    fn holds(&self, usage: &str, text: &str, seal: &str) -> bool {
        let right = self.seal(usage, text);
        constant_time::verify_slices_are_equal(right.as_bytes(), seal.as_bytes()).is_ok()
    }
}

impl std::fmt::Debug for LinkKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("LinkKey")
    }
}

/// Whether the recipient still is the one the link was signed for: there, enabled, and not changed since.
///
/// # Errors
/// Those of the database.
pub fn holds(conn: &mut Conn, link: &Link) -> Result<bool, StoreError> {
    let tenant = Tenant::granted(link.list.club);
    let recipient = endpoints::find(conn, tenant, link.recipient)?;
    Ok(recipient.is_some_and(|recipient| {
        recipient.disabled_at.is_none() && recipient.version == link.recipient_version
    }))
}

#[cfg(test)]
mod tests;
