//! An issuer for tests: keys of all three algorithms, tokens with any header and payload.

use aws_lc_rs::rand::SystemRandom;
use aws_lc_rs::rsa::KeySize;
use aws_lc_rs::signature::{
    ECDSA_P256_SHA256_FIXED_SIGNING, EcdsaKeyPair, Ed25519KeyPair, KeyPair, RSA_PKCS1_SHA256,
    RsaKeyPair, RsaPublicKeyComponents,
};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::Timestamp;
use plimsoll_api::auth::{AuthSettings, Claims, KeySetStatus, TokenError, Verifier};
use serde_json::{Value, json};
use wiremock::matchers::{method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

/// The `iss` of the test issuer.
pub(crate) const ISSUER: &str = "https://id.handball.example";
/// Monday, 9 November 2026, 07:00 in Berlin.
pub(crate) const NOW: &str = "2026-11-09T06:00:00Z";

pub(crate) fn now() -> Timestamp {
    NOW.parse().unwrap()
}

/// `now` and `seconds` more.
pub(crate) fn after(seconds: i64) -> Timestamp {
    now() + jiff::SignedDuration::from_secs(seconds)
}

pub(crate) enum SigningKey {
    Rsa(RsaKeyPair),
    P256(EcdsaKeyPair),
    Ed25519(Ed25519KeyPair),
}

impl SigningKey {
    pub(crate) fn rsa() -> SigningKey {
        SigningKey::Rsa(RsaKeyPair::generate(KeySize::Rsa2048).unwrap())
    }

    pub(crate) fn p256() -> SigningKey {
        SigningKey::P256(EcdsaKeyPair::generate(&ECDSA_P256_SHA256_FIXED_SIGNING).unwrap())
    }

    pub(crate) fn ed25519() -> SigningKey {
        SigningKey::Ed25519(Ed25519KeyPair::generate().unwrap())
    }

    pub(crate) fn algorithm(&self) -> &'static str {
        match self {
            SigningKey::Rsa(_) => "RS256",
            SigningKey::P256(_) => "ES256",
            SigningKey::Ed25519(_) => "EdDSA",
        }
    }

    /// The public key as an entry of a key set.
    pub(crate) fn jwk(&self, kid: &str) -> Value {
        let mut jwk = match self {
            SigningKey::Rsa(pair) => {
                let public = RsaPublicKeyComponents::<Vec<u8>>::from(pair.public_key());
                json!({ "kty": "RSA", "n": base64url(public.n), "e": base64url(public.e) })
            }
            SigningKey::P256(pair) => {
                let point = pair.public_key().as_ref();
                let (x, y) = (base64url(&point[1..33]), base64url(&point[33..]));
                json!({ "kty": "EC", "crv": "P-256", "x": x, "y": y })
            }
            SigningKey::Ed25519(pair) => {
                json!({ "kty": "OKP", "crv": "Ed25519", "x": base64url(pair.public_key()) })
            }
        };
        jwk["kid"] = kid.into();
        jwk["use"] = "sig".into();
        jwk["alg"] = self.algorithm().into();
        jwk
    }

    pub(crate) fn sign(&self, message: &[u8]) -> Vec<u8> {
        let random = SystemRandom::new();
        match self {
            SigningKey::Rsa(pair) => {
                let mut signature = vec![0; pair.public_modulus_len()];
                pair.sign(&RSA_PKCS1_SHA256, &random, message, &mut signature)
                    .unwrap();
                signature
            }
            SigningKey::P256(pair) => pair.sign(&random, message).unwrap().as_ref().to_vec(),
            SigningKey::Ed25519(pair) => pair.sign(message).as_ref().to_vec(),
        }
    }

    /// A token with this header and payload, whatever they are, and a true signature.
    pub(crate) fn token_of(&self, header: impl AsRef<[u8]>, payload: impl AsRef<[u8]>) -> String {
        let message = format!("{}.{}", base64url(header), base64url(payload));
        let signature = base64url(self.sign(message.as_bytes()));
        format!("{message}.{signature}")
    }

    /// A token of the usual header and this payload.
    pub(crate) fn token(&self, kid: &str, payload: &Value) -> String {
        self.token_of(
            header(self.algorithm(), kid).to_string(),
            payload.to_string(),
        )
    }
}

pub(crate) fn base64url(octets: impl AsRef<[u8]>) -> String {
    URL_SAFE_NO_PAD.encode(octets)
}

pub(crate) fn header(algorithm: &str, kid: &str) -> Value {
    json!({ "alg": algorithm, "typ": "at+jwt", "kid": kid })
}

/// A coach's token that is good for five minutes from `now`.
pub(crate) fn payload() -> Value {
    json!({
        "iss": ISSUER,
        "aud": "plimsoll",
        "sub": "coach-vera",
        "client_id": "club-app",
        "jti": "t-1",
        "iat": now().as_second(),
        "exp": after(300).as_second(),
        "club": "ext:roster:hc-riverside",
        "roles": ["coach"],
    })
}

/// The usual payload with one claim changed, or removed by `Value::Null`.
pub(crate) fn payload_with(claim: &str, value: Value) -> Value {
    let mut payload = payload();
    let claims = payload.as_object_mut().unwrap();
    if value.is_null() {
        claims.remove(claim);
    } else {
        claims.insert(claim.to_owned(), value);
    }
    payload
}

/// A verifier that trusts the test issuer, whose keys are at `address`; `more` overrides settings.
pub(crate) fn verifier_at(address: &str, more: &Value) -> Verifier {
    let mut issuer = json!({ "issuer": ISSUER, "audiences": ["plimsoll"], "jwks_url": address });
    for (name, value) in more.as_object().into_iter().flatten() {
        issuer[name] = value.clone();
    }
    let settings: AuthSettings =
        serde_json::from_value(json!({ "issuers": [issuer], "leeway_seconds": 10 })).unwrap();
    Verifier::new(&settings, None).unwrap()
}

/// The issuer's key server.
pub(crate) struct KeyServer(pub(crate) MockServer);

impl KeyServer {
    pub(crate) async fn start() -> KeyServer {
        KeyServer(MockServer::start().await)
    }

    pub(crate) async fn with_keys(keys: &[Value]) -> KeyServer {
        let server = KeyServer::start().await;
        server.publish(keys).await;
        server
    }

    /// From now on the server answers with these keys.
    pub(crate) async fn publish(&self, keys: &[Value]) {
        self.answer(ResponseTemplate::new(200).set_body_json(json!({ "keys": keys })))
            .await;
    }

    /// From now on the server answers like this; requests are counted anew.
    pub(crate) async fn answer(&self, answer: ResponseTemplate) {
        self.0.reset().await;
        Mock::given(method("GET"))
            .and(path("/keys"))
            .respond_with(answer)
            .mount(&self.0)
            .await;
    }

    pub(crate) async fn requests(&self) -> usize {
        self.0.received_requests().await.unwrap().len()
    }

    pub(crate) fn address(&self) -> String {
        format!("{}/keys", self.0.uri())
    }

    pub(crate) fn verifier(&self) -> Verifier {
        verifier_at(&self.address(), &json!({}))
    }
}

/// One Ed25519 key, its server and a verifier: what most tests need.
pub(crate) struct World {
    pub(crate) key: SigningKey,
    pub(crate) server: KeyServer,
    pub(crate) verifier: Verifier,
}

impl World {
    pub(crate) async fn new() -> World {
        let key = SigningKey::ed25519();
        let server = KeyServer::with_keys(&[key.jwk("k1")]).await;
        let verifier = server.verifier();
        World {
            key,
            server,
            verifier,
        }
    }

    pub(crate) async fn verify(&self, token: &str) -> Result<Claims, TokenError> {
        self.verifier.verify(token, now()).await
    }

    /// What the verifier says of a truly signed token with this payload.
    pub(crate) async fn verify_payload(&self, payload: &Value) -> Result<Claims, TokenError> {
        self.verify(&self.key.token("k1", payload)).await
    }

    /// What the verifier says of a truly signed token with this header.
    pub(crate) async fn verify_header(&self, header: &Value) -> Result<Claims, TokenError> {
        self.verify(&self.key.token_of(header.to_string(), payload().to_string()))
            .await
    }
}

pub(crate) const MINUTE: i64 = 60;
pub(crate) const HOUR: i64 = 60 * MINUTE;

/// A token that is good for a second around `instant`, and what the verifier says of it then.
pub(crate) async fn check(
    verifier: &Verifier,
    key: &SigningKey,
    kid: &str,
    instant: Timestamp,
) -> Result<(), TokenError> {
    let mut payload = payload_with("iat", json!(instant.as_second()));
    payload["exp"] = json!(instant.as_second() + 1);
    verifier
        .verify(&key.token(kid, &payload), instant)
        .await
        .map(|_| ())
}

pub(crate) fn status(verifier: &Verifier, instant: Timestamp) -> KeySetStatus {
    verifier.key_sets(instant).remove(0)
}
