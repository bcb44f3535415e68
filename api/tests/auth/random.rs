//! Random texts and tokens: never a panic, never accepted without the key.

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use serde_json::Value;

use crate::issuer::{ISSUER, KeyServer, SigningKey, World, after, base64url, header, now, payload};

fn json_value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        ".{0,8}".prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 16, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            prop::collection::hash_map(".{0,4}", inner, 0..4)
                .prop_map(|map| Value::Object(map.into_iter().collect())),
        ]
    })
}

/// A name that matters, and any value for it.
fn claim() -> impl Strategy<Value = (&'static str, Value)> {
    let names = [
        "iss",
        "aud",
        "sub",
        "exp",
        "nbf",
        "iat",
        "jti",
        "client_id",
        "azp",
        "club",
    ];
    let more = [
        "roles", "squads", "athletes", "alg", "typ", "kid", "crit", "b64", "jwk",
    ];
    (
        prop::sample::select([names.as_slice(), more.as_slice()].concat()),
        json_value(),
    )
}

/// One value of a strategy.
fn one<S: Strategy>(strategy: &S, runner: &mut TestRunner) -> S::Value {
    strategy.new_tree(runner).unwrap().current()
}

#[tokio::test]
async fn random_texts_are_refused() {
    let world = World::new().await;
    let mut runner = TestRunner::deterministic();
    let texts = ".{0,40}(\\.[A-Za-z0-9_-]{0,40}){0,5}";
    for _ in 0..2_000 {
        assert!(world.verify(&one(&texts, &mut runner)).await.is_err());
    }
}

#[tokio::test]
async fn random_claims_are_read_or_refused_and_never_without_the_key() {
    let (world, stranger) = (World::new().await, SigningKey::ed25519());
    let mut runner = TestRunner::deterministic();
    for _ in 0..2_000 {
        let mut header = header("EdDSA", "k1");
        let mut payload = payload();
        let (name, value) = one(&claim(), &mut runner);
        payload[name] = value;
        let (name, value) = one(&claim(), &mut runner);
        header[name] = value;
        let (header, payload) = (header.to_string(), payload.to_string());
        if let Ok(claims) = world.verify(&world.key.token_of(&header, &payload)).await {
            assert_eq!(claims.issuer, ISSUER);
            assert!(claims.expires_at > after(-10));
        }
        let forged = stranger.token_of(&header, &payload);
        assert!(world.verify(&forged).await.is_err());
        let unsigned = format!("{}.{}.", base64url(&header), base64url(&payload));
        assert!(world.verify(&unsigned).await.is_err());
    }
}

#[tokio::test]
async fn random_key_sets_are_read_or_refused() {
    let mut runner = TestRunner::deterministic();
    let fields = [
        "kty", "crv", "alg", "use", "key_ops", "kid", "n", "e", "x", "y", "d",
    ];
    let keys = [SigningKey::rsa(), SigningKey::p256(), SigningKey::ed25519()];
    let mut entries = Vec::new();
    for key in &keys {
        for field in fields {
            let mut jwk = key.jwk("k1");
            jwk[field] = one(&json_value(), &mut runner);
            entries.push(jwk);
        }
    }
    let server = KeyServer::with_keys(&entries).await;
    let verifier = server.verifier();
    verifier.renew_keys(now()).await;
    assert_eq!(verifier.key_sets(now())[0].last_error, None);
}
