//! The payload of a token, as typed claims (RFC 7519 section 4.1, RFC 9068 section 2.2).

use jiff::{SignedDuration, Timestamp};
use serde_json::Value;

use super::object::Object;
use super::reference::{Reference, is_plain};
use super::role::Role;
use super::settings::ClaimNames;
use super::token::TokenError;

/// What a checked token says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Claims {
    /// Who vouches for it (`iss`). A subject is unique only together with its issuer.
    pub issuer: String,
    /// Who acts (`sub`).
    pub subject: String,
    /// The program that acts: `client_id`, else `azp`, else `sub`.
    pub client: String,
    /// The token's own id (`jti`), for revocation; `None` when the issuer gives none.
    pub token_id: Option<String>,
    /// The club; absent for the operator.
    pub club: Option<Reference>,
    /// The roles held, each once; never empty.
    pub roles: Vec<Role>,
    /// The squads a coach is limited to; `None` for no limit, an empty list for no squad at all.
    pub squads: Option<Vec<Reference>>,
    /// An athlete's own reference, or a guardian's children.
    pub athletes: Vec<Reference>,
    /// When the token ends (`exp`).
    pub expires_at: Timestamp,
}

/// The times of a token.
pub(super) struct Times {
    pub(super) issued_at: Timestamp,
    pub(super) not_before: Option<Timestamp>,
    pub(super) expires_at: Timestamp,
}

impl Times {
    pub(super) fn read(payload: &Object) -> Result<Times, TokenError> {
        Ok(Times {
            issued_at: instant(payload, "iat")?.ok_or(TokenError::Missing("iat"))?,
            not_before: instant(payload, "nbf")?,
            expires_at: instant(payload, "exp")?.ok_or(TokenError::Missing("exp"))?,
        })
    }

    /// Judges the times at `now`, with clocks up to `leeway` apart: accepted while
    /// `nbf - leeway <= now`, `iat - leeway <= now` and `now < exp + leeway`.
    pub(super) fn check(&self, now: Timestamp, leeway: SignedDuration) -> Result<(), TokenError> {
        if now.duration_since(self.expires_at) >= leeway {
            return Err(TokenError::Expired);
        }
        let start = self
            .not_before
            .map_or(self.issued_at, |nbf| nbf.max(self.issued_at));
        if start.duration_since(now) > leeway {
            return Err(TokenError::NotYetValid);
        }
        Ok(())
    }
}

impl Claims {
    /// Reads the claims of a payload whose signature has been checked. A claim that is there in
    /// another form than agreed, `null` included, is an error: a limit that cannot be read must not
    /// become no limit.
    pub(super) fn read(
        issuer: &str,
        names: &ClaimNames,
        payload: &Object,
        times: &Times,
    ) -> Result<Claims, TokenError> {
        let subject = text(payload, "sub")?.ok_or(TokenError::Missing("sub"))?;
        let client = match text(payload, "client_id")? {
            Some(client) => Some(client),
            None => text(payload, "azp")?,
        };
        let club = payload
            .0
            .get(&names.club)
            .map(|value| reference(value, "club"))
            .transpose()?;
        Ok(Claims {
            issuer: issuer.to_owned(),
            client: client.unwrap_or_else(|| subject.clone()),
            subject,
            token_id: text(payload, "jti")?,
            club,
            roles: roles(payload.0.get(&names.roles))?,
            squads: references(payload.0.get(&names.squads), "squads")?,
            athletes: references(payload.0.get(&names.athletes), "athletes")?.unwrap_or_default(),
            expires_at: times.expires_at,
        })
    }
}

/// A claim that is a text fit to be stored.
pub(super) fn text(payload: &Object, name: &'static str) -> Result<Option<String>, TokenError> {
    match payload.0.get(name) {
        None => Ok(None),
        Some(Value::String(text)) if is_plain(text) => Ok(Some(text.clone())),
        Some(_) => Err(TokenError::Claim(name)),
    }
}

/// The audiences of a token: one text or a list of them (RFC 7519 section 4.1.3).
pub(super) fn audiences(payload: &Object) -> Result<Vec<&str>, TokenError> {
    match payload.0.get("aud") {
        None => Err(TokenError::Missing("aud")),
        Some(Value::String(one)) => Ok(vec![one]),
        Some(value) => texts(value, "aud"),
    }
}

/// A NumericDate (RFC 7519 section 2): seconds since 1970, fractions allowed.
fn instant(payload: &Object, name: &'static str) -> Result<Option<Timestamp>, TokenError> {
    let Some(value) = payload.0.get(name) else {
        return Ok(None);
    };
    let instant = match (value.as_i64(), value.as_f64()) {
        (Some(seconds), _) => Timestamp::from_second(seconds).ok(),
        (None, Some(seconds)) => SignedDuration::try_from_secs_f64(seconds)
            .ok()
            .and_then(|since_epoch| Timestamp::from_duration(since_epoch).ok()),
        (None, None) => None,
    };
    instant.map(Some).ok_or(TokenError::Claim(name))
}

/// Role codes the service does not know are other systems' business and left out.
fn roles(value: Option<&Value>) -> Result<Vec<Role>, TokenError> {
    let value = value.ok_or(TokenError::NoRole)?;
    let mut roles = Vec::new();
    for role in texts(value, "roles")?.into_iter().filter_map(Role::parse) {
        if !roles.contains(&role) {
            roles.push(role);
        }
    }
    if roles.is_empty() {
        Err(TokenError::NoRole)
    } else {
        Ok(roles)
    }
}

fn references(
    value: Option<&Value>,
    name: &'static str,
) -> Result<Option<Vec<Reference>>, TokenError> {
    let Some(value) = value else { return Ok(None) };
    let list = texts(value, name)?;
    let list = list
        .into_iter()
        .map(Reference::parse)
        .collect::<Result<_, _>>();
    list.map(Some).map_err(|_| TokenError::Claim(name))
}

fn reference(value: &Value, name: &'static str) -> Result<Reference, TokenError> {
    value
        .as_str()
        .and_then(|text| Reference::parse(text).ok())
        .ok_or(TokenError::Claim(name))
}

fn texts<'a>(value: &'a Value, name: &'static str) -> Result<Vec<&'a str>, TokenError> {
    let list = value.as_array().ok_or(TokenError::Claim(name))?;
    list.iter()
        .map(|entry| entry.as_str().ok_or(TokenError::Claim(name)))
        .collect()
}
