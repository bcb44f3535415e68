//! The text of a token, taken apart, before anything in it is believed.
//!
//! JWS compact serialisation (RFC 7515 section 7.1): `header.payload.signature`, each base64url without
//! padding. Everything else, encrypted tokens (five parts) included, is refused.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde_json::Value;

use super::keys::Algorithm;
use super::object::Object;

/// The longest token that is looked at.
pub const MAX_TOKEN_OCTETS: usize = 8 * 1024;

/// Why a token is not accepted. Says which check failed, never what the token holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TokenError {
    /// More than 8 KiB.
    #[error("the token is larger than 8 KiB")]
    TooLarge,
    /// Not three base64url parts of JSON, or a key in it occurs twice.
    #[error("the token is not a signed JWT")]
    Malformed,
    /// `none`, HMAC, an unknown algorithm, one the issuer may not use, or not the key's own.
    #[error("the token's algorithm is not accepted")]
    Algorithm,
    /// `crit` or `b64`: extensions the service would have to understand (RFC 7515 section 4.1.11,
    /// RFC 7797).
    #[error("the token asks for an extension that is not supported")]
    Extension,
    /// Not an access token.
    #[error("the token's type is not that of an access token")]
    Type,
    /// No `iss`, or not one of the settings.
    #[error("the token's issuer is not accepted")]
    Issuer,
    /// No `kid`, or the issuer has no such key.
    #[error("the token's key is not known")]
    Key,
    /// The issuer's keys cannot be had; the token may well be good.
    #[error("the issuer's keys cannot be fetched at present")]
    KeysUnavailable,
    /// The signature is not the key's.
    #[error("the token's signature is wrong")]
    Signature,
    /// The issuer may not speak for the club named.
    #[error("the token's issuer may not speak for its club")]
    Club,
    /// No `aud`, or none that means this service.
    #[error("the token is for another audience")]
    Audience,
    /// `exp` has passed.
    #[error("the token has expired")]
    Expired,
    /// `nbf` or `iat` lies in the future.
    #[error("the token is not valid yet")]
    NotYetValid,
    /// A required claim is absent.
    #[error("the token lacks the claim {0}")]
    Missing(&'static str),
    /// A claim has another form than agreed.
    #[error("the token's claim for {0} cannot be read")]
    Claim(&'static str),
    /// No role, or none the service knows.
    #[error("the token names no role")]
    NoRole,
}

impl TokenError {
    /// Whether the fault is not the token's: the answer is 503, not 401.
    pub fn is_outage(self) -> bool {
        self == TokenError::KeysUnavailable
    }
}

/// A token taken apart. Nothing in it has been checked yet, its signature least of all.
pub(super) struct Unverified<'a> {
    /// `header.payload`, which is what is signed.
    pub(super) message: &'a [u8],
    /// The signature, still in base64url.
    pub(super) signature: &'a str,
    pub(super) algorithm: Algorithm,
    pub(super) typ: Option<String>,
    pub(super) kid: Option<String>,
    pub(super) payload: Object,
}

impl<'a> Unverified<'a> {
    /// Takes `token` apart. Header parameters that point at keys (`jku`, `jwk`, `x5u`, `x5c`) are not
    /// even read: keys come from the settings alone (RFC 8725 section 3.10).
    pub(super) fn parse(token: &'a str) -> Result<Unverified<'a>, TokenError> {
        if token.len() > MAX_TOKEN_OCTETS {
            return Err(TokenError::TooLarge);
        }
        let (message, signature) = token.rsplit_once('.').ok_or(TokenError::Malformed)?;
        let (header, payload) = message.split_once('.').ok_or(TokenError::Malformed)?;
        // A dot in `payload` (five parts) is no base64url letter.
        let (header, payload) = (part(header)?, part(payload)?);
        if header.0.contains_key("crit") || header.0.contains_key("b64") {
            return Err(TokenError::Extension);
        }
        let algorithm = text(&header, "alg")?.as_deref().and_then(Algorithm::parse);
        Ok(Unverified {
            message: message.as_bytes(),
            signature,
            algorithm: algorithm.ok_or(TokenError::Algorithm)?,
            typ: text(&header, "typ")?,
            kid: text(&header, "kid")?,
            payload,
        })
    }
}

fn part(base64url: &str) -> Result<Object, TokenError> {
    let json = URL_SAFE_NO_PAD
        .decode(base64url)
        .map_err(|_| TokenError::Malformed)?;
    Object::parse(&json).ok_or(TokenError::Malformed)
}

fn text(header: &Object, name: &str) -> Result<Option<String>, TokenError> {
    match header.0.get(name) {
        None => Ok(None),
        Some(Value::String(text)) => Ok(Some(text.clone())),
        Some(_) => Err(TokenError::Malformed),
    }
}
