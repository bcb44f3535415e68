//! Settings of the access part. A value that would weaken a check cannot be read.

use std::collections::BTreeMap;

use jiff::SignedDuration;
use reqwest::Url;
use serde::Deserialize;
use uuid::Uuid;

use super::keys::Algorithm;
use super::role::Role;

/// Whose tokens are accepted.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct AuthSettings {
    /// The issuers with published keys. The local development issuer is not one of them.
    pub issuers: Vec<IssuerSettings>,
    /// How far an issuer's clock may be from ours.
    #[serde(rename = "leeway_seconds")]
    pub leeway: Leeway,
}

/// One issuer of tokens.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IssuerSettings {
    /// The `iss` claim, letter for letter.
    pub issuer: String,
    /// The `aud` values that mean this service.
    pub audiences: Audiences,
    /// Where the issuer publishes its keys.
    pub jwks_url: JwksUrl,
    /// The algorithms accepted from this issuer; all three by default.
    #[serde(default)]
    pub algorithms: Algorithms,
    /// Whether the header's `typ` must be `at+jwt` (RFC 9068 section 4). Switched off, `JWT` or no
    /// `typ` passes too, and only the audience keeps other kinds of token out.
    #[serde(default = "yes")]
    pub strict_typ: bool,
    /// The names of the claims that are not standardised.
    #[serde(default)]
    pub claims: ClaimNames,
    /// When keys are fetched again.
    #[serde(default)]
    pub refresh: RefreshTimes,
    /// Our ids of clubs that the issuer names in its own way: `"ext:<source>:<id>" = "<our id>"`.
    #[serde(default)]
    pub club_ids: BTreeMap<String, Uuid>,
    /// The clubs this issuer may speak for, by our ids; all when left out.
    #[serde(default)]
    pub clubs: Option<Vec<Uuid>>,
    /// The roles it may give; all but the operator when left out.
    #[serde(default)]
    pub roles: Roles,
}

const fn yes() -> bool {
    true
}

/// The claims, at the top level of the payload, that say club, roles and reach.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ClaimNames {
    /// The club, one reference.
    pub club: String,
    /// A list of role codes.
    pub roles: String,
    /// A list of references that limits a coach.
    pub squads: String,
    /// A list of references: an athlete's own, or a guardian's children.
    pub athletes: String,
}

impl Default for ClaimNames {
    fn default() -> Self {
        ClaimNames {
            club: "club".to_owned(),
            roles: "roles".to_owned(),
            squads: "squads".to_owned(),
            athletes: "athletes".to_owned(),
        }
    }
}

/// A setting that is not acceptable, in a sentence that says what is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadSetting {
    /// A leeway above ten seconds.
    #[error("leeway_seconds is at most 10")]
    Leeway,
    /// No role, or one that does not exist.
    #[error("roles names at least one role, and only roles that exist")]
    Roles,
    /// No audience, or an empty one.
    #[error("audiences names at least one audience, none of them empty")]
    Audiences,
    /// No algorithm.
    #[error("algorithms names at least one of RS256, ES256, EdDSA")]
    Algorithms,
    /// An address that is not https, or carries a name, a password or a fragment.
    #[error(
        "jwks_url is an https address without user name, password and fragment \
         (http only on this machine's own loopback address)"
    )]
    JwksUrl,
    /// Times that contradict each other.
    #[error("0 < refetch_seconds <= max_age_seconds <= stale_limit_seconds")]
    RefreshTimes,
}

/// A tolerance between clocks of 0 to 10 whole seconds; 10 by default.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "u64")]
pub struct Leeway(SignedDuration);

impl Leeway {
    /// The tolerance as a duration.
    pub const fn duration(self) -> SignedDuration {
        self.0
    }
}

impl Default for Leeway {
    fn default() -> Self {
        Leeway(SignedDuration::from_secs(10))
    }
}

impl TryFrom<u64> for Leeway {
    type Error = BadSetting;

    fn try_from(seconds: u64) -> Result<Self, BadSetting> {
        match i64::try_from(seconds) {
            Ok(seconds @ 0..=10) => Ok(Leeway(SignedDuration::from_secs(seconds))),
            _ => Err(BadSetting::Leeway),
        }
    }
}

/// At least one audience.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "Vec<String>")]
pub struct Audiences(Vec<String>);

impl Audiences {
    /// Whether `audience` is one of these, letter for letter.
    pub fn contains(&self, audience: &str) -> bool {
        self.0.iter().any(|accepted| accepted == audience)
    }
}

impl TryFrom<Vec<String>> for Audiences {
    type Error = BadSetting;

    fn try_from(audiences: Vec<String>) -> Result<Self, BadSetting> {
        if audiences.is_empty() || audiences.iter().any(String::is_empty) {
            return Err(BadSetting::Audiences);
        }
        Ok(Audiences(audiences))
    }
}

/// At least one algorithm; all three by default.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "Vec<Algorithm>")]
pub struct Algorithms(Vec<Algorithm>);

impl Algorithms {
    /// Whether `algorithm` is one of these.
    pub fn contains(&self, algorithm: Algorithm) -> bool {
        self.0.contains(&algorithm)
    }
}

impl Default for Algorithms {
    fn default() -> Self {
        Algorithms(Algorithm::ALL.to_vec())
    }
}

impl TryFrom<Vec<Algorithm>> for Algorithms {
    type Error = BadSetting;

    fn try_from(algorithms: Vec<Algorithm>) -> Result<Self, BadSetting> {
        if algorithms.is_empty() {
            return Err(BadSetting::Algorithms);
        }
        Ok(Algorithms(algorithms))
    }
}

/// Roles an issuer may give; all but the operator by default.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "Vec<String>")]
pub struct Roles(Vec<Role>);

impl Roles {
    /// Every role there is, for the local development issuer.
    pub fn all() -> Self {
        Roles(Role::ALL.to_vec())
    }

    /// Whether `role` is one of these.
    pub fn contains(&self, role: Role) -> bool {
        self.0.contains(&role)
    }
}

impl Default for Roles {
    fn default() -> Self {
        Roles(
            Role::ALL
                .into_iter()
                .filter(|role| *role != Role::Operator)
                .collect(),
        )
    }
}

impl TryFrom<Vec<String>> for Roles {
    type Error = BadSetting;

    fn try_from(codes: Vec<String>) -> Result<Self, BadSetting> {
        let roles: Option<Vec<Role>> = codes.iter().map(|code| Role::parse(code)).collect();
        match roles {
            Some(roles) if !roles.is_empty() => Ok(Roles(roles)),
            _ => Err(BadSetting::Roles),
        }
    }
}

/// The address of a key set: https, or http on the loopback address.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct JwksUrl(Url);

impl JwksUrl {
    /// The address.
    pub fn url(&self) -> &Url {
        &self.0
    }
}

impl TryFrom<String> for JwksUrl {
    type Error = BadSetting;

    fn try_from(text: String) -> Result<Self, BadSetting> {
        let url = Url::parse(&text).map_err(|_| BadSetting::JwksUrl)?;
        let plain =
            url.username().is_empty() && url.password().is_none() && url.fragment().is_none();
        let safe = url.scheme() == "https" || (url.scheme() == "http" && is_loopback(&url));
        if plain && safe {
            Ok(JwksUrl(url))
        } else {
            Err(BadSetting::JwksUrl)
        }
    }
}

fn is_loopback(url: &Url) -> bool {
    let host = url.host_str().unwrap_or_default();
    let address = host.trim_start_matches('[').trim_end_matches(']');
    host == "localhost"
        || address
            .parse::<std::net::IpAddr>()
            .is_ok_and(|address| address.is_loopback())
}

/// When an issuer's keys are fetched again, and how long they serve when that fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "RefreshSeconds")]
pub struct RefreshTimes {
    /// Keys older than this are fetched again; 10 minutes by default.
    pub(super) max_age: SignedDuration,
    /// At least this long between two fetches; 1 minute by default.
    pub(super) refetch: SignedDuration,
    /// Keys older than this are no longer used, even when no fetch succeeds; 24 hours by default.
    pub(super) stale_limit: SignedDuration,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RefreshSeconds {
    max_age_seconds: u32,
    refetch_seconds: u32,
    stale_limit_seconds: u32,
}

impl Default for RefreshSeconds {
    fn default() -> Self {
        RefreshSeconds {
            max_age_seconds: 600,
            refetch_seconds: 60,
            stale_limit_seconds: 86_400,
        }
    }
}

impl TryFrom<RefreshSeconds> for RefreshTimes {
    type Error = BadSetting;

    fn try_from(seconds: RefreshSeconds) -> Result<Self, BadSetting> {
        let RefreshSeconds {
            max_age_seconds,
            refetch_seconds,
            stale_limit_seconds,
        } = seconds;
        if refetch_seconds == 0
            || refetch_seconds > max_age_seconds
            || max_age_seconds > stale_limit_seconds
        {
            return Err(BadSetting::RefreshTimes);
        }
        Ok(RefreshTimes {
            max_age: SignedDuration::from_secs(max_age_seconds.into()),
            refetch: SignedDuration::from_secs(refetch_seconds.into()),
            stale_limit: SignedDuration::from_secs(stale_limit_seconds.into()),
        })
    }
}

impl Default for RefreshTimes {
    fn default() -> Self {
        RefreshTimes {
            max_age: SignedDuration::from_mins(10),
            refetch: SignedDuration::from_mins(1),
            stale_limit: SignedDuration::from_hours(24),
        }
    }
}

#[cfg(test)]
mod tests;
