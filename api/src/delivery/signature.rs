//! Signatures of webhooks by the Standard Webhooks specification, version 1.0.0: symmetric scheme `v1`.
//!
//! ```text
//! signed    = id "." timestamp "." body          timestamp: whole seconds of the Unix epoch
//! signature = "v1," base64(HMAC-SHA256(secret, signed))
//! secret    = "whsec_" base64(24 to 64 random bytes)
//! ```
//!
//! For 24 h after a rotation both secrets sign, and the two signatures stand side by side.
//!
//! Source: <https://github.com/standard-webhooks/standard-webhooks/blob/main/spec/standard-webhooks.md>.

use aws_lc_rs::hmac;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use jiff::{SignedDuration, Timestamp};

use crate::store::notices::endpoints::Endpoint;

/// How many random bytes a secret of ours has.
pub const SECRET_BYTES: usize = 32;

/// How long the old secret signs after a rotation.
pub const OVERLAP: SignedDuration = SignedDuration::from_hours(24);

/// A secret as its holder is given it.
pub fn secret_text(secret: &[u8]) -> String {
    format!("whsec_{}", STANDARD.encode(secret))
}

/// The value of `webhook-signature`: one signature for each secret in use.
pub fn sign(endpoint: &Endpoint, id: &str, at: Timestamp, body: &str) -> String {
    let old = endpoint
        .old_secret
        .as_ref()
        .filter(|_| endpoint.old_secret_until.is_some_and(|until| at < until));
    let secrets = endpoint.secret.iter().chain(old);
    let signatures: Vec<String> = secrets
        .map(|secret| signature(secret, id, at, body))
        .collect();
    signatures.join(" ")
}

fn signature(secret: &[u8], id: &str, at: Timestamp, body: &str) -> String {
    let key = hmac::Key::new(hmac::HMAC_SHA256, secret);
    let signed = format!("{id}.{}.{body}", at.as_second());
    let tag = hmac::sign(&key, signed.as_bytes());
    format!("v1,{}", STANDARD.encode(tag))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_of_the_published_verifiers_is_met() {
        // Secret, id, timestamp, body and signature as the published verifiers' own tests have them (value from memory;
        // `tests/webhooks/run.py` checks messages of the running program with the verifiers themselves).
        let secret = STANDARD.decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw").unwrap();
        let at = Timestamp::from_second(1_614_265_330).unwrap();
        let signed = signature(
            &secret,
            "msg_p5jXN8AQM9LWM0D4loKWxJek",
            at,
            r#"{"test": 2432232314}"#,
        );
        assert_eq!(signed, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
    }
}
