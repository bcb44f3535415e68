//! Attacks on algorithm, key and signature. The numbers only group the cases.

use aws_lc_rs::hmac;
use plimsoll_api::auth::TokenError;
use serde_json::json;

use crate::issuer::{KeyServer, SigningKey, World, base64url, header, now, payload, payload_with};

#[tokio::test]
async fn a02_no_algorithm_is_no_token() {
    let world = World::new().await;
    for alg in ["none", "None", "nOnE", "NONE", "", "eddsa", "EdDSA "] {
        let signed = world.verify_header(&header(alg, "k1")).await;
        assert_eq!(signed, Err(TokenError::Algorithm), "{alg:?}, signed");
        let head = base64url(header(alg, "k1").to_string());
        let bare = format!("{head}.{}.", base64url(payload().to_string()));
        assert_eq!(
            world.verify(&bare).await,
            Err(TokenError::Algorithm),
            "{alg:?}, bare"
        );
    }
    let unsigned = format!(
        "{}.{}.",
        base64url(header("EdDSA", "k1").to_string()),
        base64url(payload().to_string())
    );
    assert_eq!(world.verify(&unsigned).await, Err(TokenError::Signature));
    for alg in [json!(null), json!(["EdDSA"]), json!(1)] {
        let result = world
            .verify_header(&json!({ "alg": alg, "typ": "at+jwt", "kid": "k1" }))
            .await;
        assert!(result.is_err());
    }
    let result = world
        .verify_header(&json!({ "typ": "at+jwt", "kid": "k1" }))
        .await;
    assert_eq!(result, Err(TokenError::Algorithm));
}

#[tokio::test]
async fn a03_a_public_key_is_not_an_hmac_secret() {
    for key in [SigningKey::rsa(), SigningKey::p256(), SigningKey::ed25519()] {
        let jwk = key.jwk("k1");
        let server = KeyServer::with_keys(std::slice::from_ref(&jwk)).await;
        let verifier = server.verifier();
        let message = format!(
            "{}.{}",
            base64url(header("HS256", "k1").to_string()),
            base64url(payload().to_string())
        );
        for part in ["n", "x"] {
            let Some(secret) = jwk[part].as_str() else {
                continue;
            };
            let secret = hmac::Key::new(hmac::HMAC_SHA256, secret.as_bytes());
            let tag = hmac::sign(&secret, message.as_bytes());
            let token = format!("{message}.{}", base64url(tag));
            assert_eq!(
                verifier.verify(&token, now()).await,
                Err(TokenError::Algorithm)
            );
        }
    }
}

#[tokio::test]
async fn a03_a_key_is_used_with_its_own_algorithm_only() {
    let (rsa, ed) = (SigningKey::rsa(), SigningKey::ed25519());
    let server = KeyServer::with_keys(&[rsa.jwk("rsa"), ed.jwk("ed")]).await;
    let verifier = server.verifier();
    // Signed with one key, naming the other.
    for token in [rsa.token("ed", &payload()), ed.token("rsa", &payload())] {
        assert_eq!(
            verifier.verify(&token, now()).await,
            Err(TokenError::Algorithm)
        );
    }
}

#[tokio::test]
async fn a04_a_stranger_with_the_right_kid_is_refused() {
    for (real, stranger) in [
        (SigningKey::rsa(), SigningKey::rsa()),
        (SigningKey::p256(), SigningKey::p256()),
        (SigningKey::ed25519(), SigningKey::ed25519()),
    ] {
        let server = KeyServer::with_keys(&[real.jwk("k1")]).await;
        let result = server
            .verifier()
            .verify(&stranger.token("k1", &payload()), now())
            .await;
        assert_eq!(result, Err(TokenError::Signature), "{}", real.algorithm());
    }
}

#[tokio::test]
async fn a05_every_flipped_bit_and_every_truncation_is_refused() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
    assert!(world.verify(&token).await.is_ok());
    let parts: Vec<&str> = token.split('.').collect();
    let signature = world
        .key
        .sign(format!("{}.{}", parts[0], parts[1]).as_bytes());
    for bit in 0..signature.len() * 8 {
        let mut flipped = signature.clone();
        flipped[bit / 8] ^= 1 << (bit % 8);
        let token = format!("{}.{}.{}", parts[0], parts[1], base64url(flipped));
        assert_eq!(
            world.verify(&token).await,
            Err(TokenError::Signature),
            "bit {bit}"
        );
    }
    for shortened in 0..3 {
        let mut cut: Vec<String> = parts.iter().map(|&part| part.to_owned()).collect();
        while cut[shortened].pop().is_some() {
            assert!(
                world.verify(&cut.join(".")).await.is_err(),
                "part {shortened}"
            );
        }
    }
    for end in 0..token.len() {
        assert!(world.verify(&token[..end]).await.is_err(), "cut at {end}");
    }
}

#[tokio::test]
async fn a05_every_changed_letter_is_refused() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
    assert!(world.verify(&token).await.is_ok());
    for position in 0..token.len() {
        let old = &token[position..=position];
        let new = if old == "A" { "B" } else { "A" };
        let changed = format!("{}{new}{}", &token[..position], &token[position + 1..]);
        assert!(world.verify(&changed).await.is_err(), "letter {position}");
    }
}

#[tokio::test]
async fn a05_a_changed_payload_is_refused() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
    assert!(world.verify(&token).await.is_ok());
    let (rest, signature) = token.rsplit_once('.').unwrap();
    let head = rest.split_once('.').unwrap().0;
    let raised = base64url(payload_with("roles", json!(["club_admin"])).to_string());
    let result = world.verify(&format!("{head}.{raised}.{signature}")).await;
    assert_eq!(result, Err(TokenError::Signature));
}

#[tokio::test]
async fn a13_keys_in_the_header_are_ignored() {
    let world = World::new().await;
    let stranger = SigningKey::ed25519();
    let elsewhere = KeyServer::with_keys(&[stranger.jwk("k1")]).await;
    for (name, value) in [
        ("jwk", stranger.jwk("k1")),
        ("jku", json!(elsewhere.address())),
        ("x5u", json!(elsewhere.address())),
        ("x5c", json!(["MIIB"])),
    ] {
        let mut header = header("EdDSA", "k1");
        header[name] = value;
        let forged = stranger.token_of(header.to_string(), payload().to_string());
        assert_eq!(
            world.verify(&forged).await,
            Err(TokenError::Signature),
            "{name}"
        );
    }
    assert_eq!(elsewhere.requests().await, 0);
}

#[tokio::test]
async fn a22_a_signature_has_one_spelling() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
    assert!(world.verify(&token).await.is_ok());
    // 64 octets end in two letters of which the last carries four unused bits.
    let last = token.chars().last().unwrap();
    let alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    for letter in alphabet.chars().filter(|&letter| letter != last) {
        let respelt = format!("{}{letter}", &token[..token.len() - 1]);
        assert_eq!(
            world.verify(&respelt).await,
            Err(TokenError::Signature),
            "{letter}"
        );
    }
}
