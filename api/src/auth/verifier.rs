//! From a token's text to its claims, or to the one reason why not.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use uuid::Uuid;

use super::claims::{self, Claims, Times};
use super::fetch;
use super::jwks::{Jwks, KeySetStatus, NoKey};
use super::keys::{Algorithm, KeySet, PublicKey};
use super::local_key::{LOCAL_AUDIENCE, LOCAL_ISSUER, LocalKey};
use super::reference::Reference;
use super::settings::{
    Algorithms, Audiences, AuthSettings, BadSetting, ClaimNames, IssuerSettings, Roles,
};
use super::token::{TokenError, Unverified};

/// Checks tokens. One for the whole service; all methods take `&self`.
#[derive(Debug)]
pub struct Verifier {
    issuers: HashMap<String, TrustedIssuer>,
    leeway: SignedDuration,
}

/// Why no verifier can be made of some settings.
#[derive(Debug, thiserror::Error)]
pub enum VerifierError {
    /// Two issuers of one name, the local issuer's included, or one without a name.
    #[error("issuers need names that differ from each other and from plimsoll-local")]
    IssuerNames,
    /// A setting of the local issuer.
    #[error(transparent)]
    Setting(#[from] BadSetting),
    /// No client for fetching keys.
    #[error("no HTTPS client for fetching keys (are root certificates installed?): {0}")]
    Client(#[from] reqwest::Error),
}

#[derive(Debug)]
struct TrustedIssuer {
    audiences: Audiences,
    algorithms: Algorithms,
    strict_typ: bool,
    claims: ClaimNames,
    club_ids: BTreeMap<String, Uuid>,
    clubs: Option<Vec<Uuid>>,
    roles: Roles,
    keys: Keys,
}

#[derive(Debug)]
enum Keys {
    Fetched(Arc<Jwks>),
    Local(KeySet),
}

impl Verifier {
    /// A verifier for the issuers of `settings`, and for the local one when its key is given. Keys are
    /// fetched with the first token, or by [`Verifier::renew_keys`].
    ///
    /// # Errors
    /// [`VerifierError`].
    pub fn new(settings: &AuthSettings, local: Option<&LocalKey>) -> Result<Self, VerifierError> {
        let mut issuers = HashMap::new();
        if !settings.issuers.is_empty() {
            let client = fetch::client()?;
            for issuer in &settings.issuers {
                let trusted = TrustedIssuer::published(issuer, client.clone());
                let unnamed = issuer.issuer.is_empty() || issuer.issuer == LOCAL_ISSUER;
                if unnamed || issuers.insert(issuer.issuer.clone(), trusted).is_some() {
                    return Err(VerifierError::IssuerNames);
                }
            }
        }
        if let Some(key) = local {
            issuers.insert(LOCAL_ISSUER.to_owned(), TrustedIssuer::local(key)?);
        }
        Ok(Verifier {
            issuers,
            leeway: settings.leeway.duration(),
        })
    }

    /// The claims of `token` (the text after `Bearer `), if it is good at `now`.
    ///
    /// # Errors
    /// [`TokenError`], the first check that failed.
    pub async fn verify(&self, token: &str, now: Timestamp) -> Result<Claims, TokenError> {
        let token = Unverified::parse(token)?;
        // The issuer is not proven yet: it only says whose keys have to prove it.
        let name = claims::text(&token.payload, "iss")?.ok_or(TokenError::Issuer)?;
        let issuer = self.issuers.get(&name).ok_or(TokenError::Issuer)?;
        issuer.check_header(&token)?;
        let key = issuer.key(&token, now).await?;
        if key.algorithm() != token.algorithm {
            return Err(TokenError::Algorithm);
        }
        if !key.verify(token.message, token.signature) {
            return Err(TokenError::Signature);
        }
        let audiences = claims::audiences(&token.payload)?;
        if !audiences
            .iter()
            .any(|audience| issuer.audiences.contains(audience))
        {
            return Err(TokenError::Audience);
        }
        let times = Times::read(&token.payload)?;
        times.check(now, self.leeway)?;
        issuer.limit(Claims::read(&name, &issuer.claims, &token.payload, &times)?)
    }

    /// Fetches the key sets that are missing or due: at start, and from a ticker, so that requests
    /// seldom have to wait for it.
    pub async fn renew_keys(&self, now: Timestamp) {
        let renewals = self.fetched().map(|jwks| jwks.renew(now));
        futures_util::future::join_all(renewals).await;
    }

    /// How the issuers' key sets stand, ordered by issuer. The local issuer needs none.
    pub fn key_sets(&self, now: Timestamp) -> Vec<KeySetStatus> {
        let mut statuses: Vec<_> = self.fetched().map(|jwks| jwks.status(now)).collect();
        statuses.sort_by(|a, b| a.issuer.cmp(&b.issuer));
        statuses
    }

    fn fetched(&self) -> impl Iterator<Item = &Arc<Jwks>> {
        self.issuers
            .values()
            .filter_map(|issuer| match &issuer.keys {
                Keys::Fetched(jwks) => Some(jwks),
                Keys::Local(_) => None,
            })
    }
}

impl TrustedIssuer {
    fn published(settings: &IssuerSettings, client: reqwest::Client) -> TrustedIssuer {
        let IssuerSettings {
            issuer,
            jwks_url,
            refresh,
            ..
        } = settings.clone();
        TrustedIssuer {
            audiences: settings.audiences.clone(),
            algorithms: settings.algorithms.clone(),
            strict_typ: settings.strict_typ,
            claims: settings.claims.clone(),
            club_ids: settings.club_ids.clone(),
            clubs: settings.clubs.clone(),
            roles: settings.roles.clone(),
            keys: Keys::Fetched(Jwks::new(issuer, jwks_url, refresh, client)),
        }
    }

    fn local(key: &LocalKey) -> Result<TrustedIssuer, BadSetting> {
        Ok(TrustedIssuer {
            audiences: Audiences::try_from(vec![LOCAL_AUDIENCE.to_owned()])?,
            algorithms: Algorithms::try_from(vec![Algorithm::EdDsa])?,
            strict_typ: true,
            claims: ClaimNames::default(),
            club_ids: BTreeMap::new(),
            clubs: None,
            roles: Roles::all(),
            keys: Keys::Local(KeySet::single(key.kid(), key.public().clone())),
        })
    }

    fn check_header(&self, token: &Unverified<'_>) -> Result<(), TokenError> {
        if !is_access_token(token.typ.as_deref(), self.strict_typ) {
            return Err(TokenError::Type);
        }
        if !self.algorithms.contains(token.algorithm) {
            return Err(TokenError::Algorithm);
        }
        Ok(())
    }

    /// Turns the issuer's name of a club into our id, takes out the roles it may not give, and
    /// refuses a club it may not speak for.
    fn limit(&self, mut claims: Claims) -> Result<Claims, TokenError> {
        let named = claims
            .club
            .as_ref()
            .and_then(|club| self.club_ids.get(&club.to_string()));
        if let Some(id) = named {
            claims.club = Some(Reference::Id(*id));
        }
        claims.roles.retain(|role| self.roles.contains(*role));
        if claims.roles.is_empty() {
            return Err(TokenError::NoRole);
        }
        let speaks_for = |clubs: &Vec<Uuid>| match &claims.club {
            Some(Reference::Id(club)) => clubs.contains(club),
            Some(Reference::External { .. }) | None => false,
        };
        if self.clubs.as_ref().is_some_and(|clubs| !speaks_for(clubs)) {
            return Err(TokenError::Club);
        }
        Ok(claims)
    }

    async fn key(
        &self,
        token: &Unverified<'_>,
        now: Timestamp,
    ) -> Result<Arc<PublicKey>, TokenError> {
        let kid = token.kid.as_deref().ok_or(TokenError::Key)?;
        match &self.keys {
            Keys::Local(keys) => keys.get(kid).ok_or(TokenError::Key),
            Keys::Fetched(jwks) => jwks.key(kid, now).await.map_err(|error| match error {
                NoKey::Unknown => TokenError::Key,
                NoKey::Unavailable => TokenError::KeysUnavailable,
            }),
        }
    }
}

/// RFC 9068 section 4: `at+jwt` or `application/at+jwt`; media types ignore case. Without strictness
/// also `JWT` or nothing, but never another kind of token.
fn is_access_token(typ: Option<&str>, strict: bool) -> bool {
    let any_of =
        |accepted: &[&str], typ: &str| accepted.iter().any(|a| a.eq_ignore_ascii_case(typ));
    match typ {
        Some(typ) if any_of(&["at+jwt", "application/at+jwt"], typ) => true,
        Some(typ) => !strict && any_of(&["JWT", "application/jwt"], typ),
        None => !strict,
    }
}
