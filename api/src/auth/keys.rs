//! Public keys and sets of them (RFC 7517, RFC 7518, RFC 8037).

use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jsonwebtoken::DecodingKey;
use serde::Deserialize;

use super::good_signatures::GoodSignatures;

/// A signature algorithm the service accepts. `none` and the HMAC family do not exist here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
pub enum Algorithm {
    /// RSASSA-PKCS1-v1_5 with SHA-256; keys of 2048 to 8192 bits.
    #[serde(rename = "RS256")]
    Rs256,
    /// ECDSA on P-256 with SHA-256.
    #[serde(rename = "ES256")]
    Es256,
    /// Ed25519.
    #[serde(rename = "EdDSA")]
    EdDsa,
}

impl Algorithm {
    /// Every algorithm.
    pub const ALL: [Algorithm; 3] = [Algorithm::Rs256, Algorithm::Es256, Algorithm::EdDsa];

    /// The name in a token's header and in a key's `alg` (RFC 7518, RFC 8037).
    pub const fn name(self) -> &'static str {
        match self {
            Algorithm::Rs256 => "RS256",
            Algorithm::Es256 => "ES256",
            Algorithm::EdDsa => "EdDSA",
        }
    }

    /// The algorithm with this name, letter for letter.
    pub fn parse(name: &str) -> Option<Algorithm> {
        Algorithm::ALL
            .into_iter()
            .find(|algorithm| algorithm.name() == name)
    }

    const fn library(self) -> jsonwebtoken::Algorithm {
        match self {
            Algorithm::Rs256 => jsonwebtoken::Algorithm::RS256,
            Algorithm::Es256 => jsonwebtoken::Algorithm::ES256,
            Algorithm::EdDsa => jsonwebtoken::Algorithm::EdDSA,
        }
    }
}

/// A public key with the one algorithm it may be used with.
#[derive(Clone)]
pub struct PublicKey {
    algorithm: Algorithm,
    key: DecodingKey,
    good: GoodSignatures,
}

impl PublicKey {
    fn new(algorithm: Algorithm, key: DecodingKey) -> PublicKey {
        PublicKey {
            algorithm,
            key,
            good: GoodSignatures::default(),
        }
    }

    /// An Ed25519 public key of 32 octets.
    pub fn ed25519(octets: &[u8; 32]) -> PublicKey {
        PublicKey::new(Algorithm::EdDsa, DecodingKey::from_ed_der(octets))
    }

    /// The algorithm this key is for.
    pub fn algorithm(&self) -> Algorithm {
        self.algorithm
    }

    /// The SHA-256 thumbprint of the key (RFC 7638), for use as `kid`.
    pub fn thumbprint(&self) -> Option<String> {
        let jwk = jsonwebtoken::jwk::Jwk::from_decoding_key(&self.key, None).ok()?;
        jwk.thumbprint(jsonwebtoken::jwk::ThumbprintHash::SHA256)
            .ok()
    }

    /// Whether `signature` (base64url) is this key's signature of `message`.
    pub fn verify(&self, message: &[u8], signature: &str) -> bool {
        self.good.check(message, signature, || {
            jsonwebtoken::crypto::verify(signature, message, &self.key, self.algorithm.library())
                .unwrap_or(false)
        })
    }
}

impl fmt::Debug for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("PublicKey")
            .field("algorithm", &self.algorithm)
            .finish_non_exhaustive()
    }
}

/// The usable keys of one issuer, by `kid`.
#[derive(Clone, Debug, Default)]
pub struct KeySet {
    by_kid: HashMap<String, Arc<PublicKey>>,
}

/// A document that is not a JWK Set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the document is not a JWK Set")]
pub struct NotAKeySet;

impl KeySet {
    /// Reads a JWK Set (RFC 7517 section 5). Keys the service cannot or may not use are left out:
    /// without `kid`, for another use than signatures, private, symmetric, of another curve, size or
    /// algorithm. Of two keys with one `kid` the first counts. A set without a usable key is empty,
    /// not an error: an issuer may withdraw every key.
    ///
    /// # Errors
    /// [`NotAKeySet`] when the document is not JSON or has no list `keys`.
    pub fn parse(document: &[u8]) -> Result<KeySet, NotAKeySet> {
        let set: JwkSet = serde_json::from_slice(document).map_err(|_| NotAKeySet)?;
        let mut by_kid = HashMap::new();
        for entry in set.keys {
            let Ok(jwk) = serde_json::from_value::<Jwk>(entry) else {
                continue;
            };
            if let (Some(key), Some(kid)) = (jwk.public_key(), jwk.kid) {
                by_kid.entry(kid).or_insert_with(|| Arc::new(key));
            }
        }
        Ok(KeySet { by_kid })
    }

    /// A set of one key.
    pub fn single(kid: &str, key: PublicKey) -> KeySet {
        KeySet {
            by_kid: HashMap::from([(kid.to_owned(), Arc::new(key))]),
        }
    }

    /// The key with this `kid`.
    pub fn get(&self, kid: &str) -> Option<Arc<PublicKey>> {
        self.by_kid.get(kid).cloned()
    }

    /// How many usable keys the set has.
    pub fn len(&self) -> usize {
        self.by_kid.len()
    }

    /// Whether the set has no usable key.
    pub fn is_empty(&self) -> bool {
        self.by_kid.is_empty()
    }
}

#[derive(Deserialize)]
struct JwkSet {
    keys: Vec<serde_json::Value>,
}

/// One entry of a set, as far as it is read here.
#[derive(Deserialize)]
struct Jwk {
    kty: String,
    kid: Option<String>,
    #[serde(rename = "use")]
    usage: Option<String>,
    key_ops: Option<Vec<String>>,
    alg: Option<String>,
    crv: Option<String>,
    n: Option<String>,
    e: Option<String>,
    x: Option<String>,
    y: Option<String>,
    /// Present in private keys: whoever publishes one has lost it.
    d: Option<serde_json::Value>,
}

impl Jwk {
    fn public_key(&self) -> Option<PublicKey> {
        if self.d.is_some() || !self.is_for_signatures() {
            return None;
        }
        let key = match (self.kty.as_str(), self.crv.as_deref()) {
            ("RSA", None) => self.rsa()?,
            ("EC", Some("P-256")) => self.p256()?,
            ("OKP", Some("Ed25519")) => PublicKey::ed25519(&octets(self.x.as_deref()?)?),
            _ => return None,
        };
        match &self.alg {
            Some(alg) if alg != key.algorithm.name() => None,
            _ => Some(key),
        }
    }

    fn is_for_signatures(&self) -> bool {
        self.usage.as_deref().is_none_or(|usage| usage == "sig")
            && self
                .key_ops
                .as_ref()
                .is_none_or(|ops| ops.iter().any(|op| op == "verify"))
    }

    fn rsa(&self) -> Option<PublicKey> {
        let n = URL_SAFE_NO_PAD.decode(self.n.as_deref()?).ok()?;
        let e = URL_SAFE_NO_PAD.decode(self.e.as_deref()?).ok()?;
        // 2048 bits or more (RFC 7518 section 3.3), not padded to that (section 6.3.1.1). The upper
        // bound keeps a check cheap.
        if n.first() == Some(&0) || !(256..=1024).contains(&n.len()) || e.is_empty() {
            return None;
        }
        let key = DecodingKey::from_rsa_raw_components(&n, &e);
        Some(PublicKey::new(Algorithm::Rs256, key))
    }

    fn p256(&self) -> Option<PublicKey> {
        let x: [u8; 32] = octets(self.x.as_deref()?)?;
        let y: [u8; 32] = octets(self.y.as_deref()?)?;
        // An uncompressed point (SEC 1, section 2.3.3).
        let point = [&[0x04], x.as_slice(), y.as_slice()].concat();
        let key = DecodingKey::from_ec_der(&point);
        Some(PublicKey::new(Algorithm::Es256, key))
    }
}

fn octets<const N: usize>(base64url: &str) -> Option<[u8; N]> {
    URL_SAFE_NO_PAD.decode(base64url).ok()?.try_into().ok()
}
