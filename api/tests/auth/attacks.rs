//! Bad tokens, each refused for the reason it is bad. The numbers only group the cases.

use aws_lc_rs::hmac;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE;
use plimsoll_api::auth::TokenError;
use serde_json::{Value, json};

use crate::issuer::{
    KeyServer, NOW, SigningKey, World, after, base64url, header, now, payload, payload_with,
};

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
async fn a05_a_changed_payload_is_refused() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
    let (rest, signature) = token.rsplit_once('.').unwrap();
    let head = rest.split_once('.').unwrap().0;
    let raised = base64url(payload_with("roles", json!(["club_admin"])).to_string());
    let result = world.verify(&format!("{head}.{raised}.{signature}")).await;
    assert_eq!(result, Err(TokenError::Signature));
}

#[tokio::test]
async fn a06_an_expired_token_is_refused() {
    let world = World::new().await;
    for (exp, accepted) in [
        (-61, false),
        (-15, false),
        (-10, false),
        (-9, true),
        (0, true),
    ] {
        let mut payload = payload_with("exp", json!(after(exp).as_second()));
        payload["iat"] = after(-300).as_second().into();
        let result = world.verify_payload(&payload).await;
        assert_eq!(
            result.err(),
            (!accepted).then_some(TokenError::Expired),
            "exp {exp} s"
        );
    }
}

#[tokio::test]
async fn a07_a_token_from_the_future_is_refused() {
    let world = World::new().await;
    for claim in ["nbf", "iat"] {
        for (start, accepted) in [(600, false), (11, false), (10, true), (-3600, true)] {
            let payload = payload_with(claim, json!(after(start).as_second()));
            let result = world.verify_payload(&payload).await;
            let expected = (!accepted).then_some(TokenError::NotYetValid);
            assert_eq!(result.err(), expected, "{claim} {start} s");
        }
    }
}

#[tokio::test]
async fn a10_another_issuer_is_refused() {
    let world = World::new().await;
    for iss in [
        json!("https://id.handball.example/"),
        json!("https://evil.example"),
    ] {
        let result = world.verify_payload(&payload_with("iss", iss)).await;
        assert_eq!(result, Err(TokenError::Issuer));
    }
    let result = world
        .verify_payload(&payload_with("iss", json!(null)))
        .await;
    assert_eq!(result, Err(TokenError::Issuer));
    assert_eq!(
        world.server.requests().await,
        0,
        "a strange issuer costs no fetch"
    );
}

#[tokio::test]
async fn a10_another_audience_is_refused() {
    let world = World::new().await;
    for aud in [
        json!("other"),
        json!(["other", "Plimsoll"]),
        json!([]),
        json!(""),
    ] {
        let result = world.verify_payload(&payload_with("aud", aud)).await;
        assert_eq!(result, Err(TokenError::Audience));
    }
}

#[tokio::test]
async fn a10_required_claims_are_required() {
    let world = World::new().await;
    for claim in ["aud", "exp", "sub", "iat"] {
        let result = world
            .verify_payload(&payload_with(claim, json!(null)))
            .await;
        assert_eq!(result, Err(TokenError::Missing(claim)));
    }
}

#[tokio::test]
async fn a10_claims_of_another_form_are_refused() {
    let world = World::new().await;
    for (claim, value) in [
        ("iss", json!(["https://id.handball.example"])),
        ("aud", json!({ "plimsoll": true })),
        ("aud", json!(["plimsoll", 1])),
        ("exp", json!("4102444800")),
        ("exp", json!(1e300)),
        ("iat", json!(u64::MAX)),
        ("nbf", json!(NOW)),
        ("sub", json!("")),
        ("sub", json!("a\u{0}b")),
        ("sub", json!("x".repeat(256))),
        ("jti", json!(7)),
        ("client_id", json!("two\nlines")),
        ("club", json!("hc-sandhausen")),
        ("club", json!(["ext:roster:hc-sandhausen"])),
        ("roles", json!("coach")),
        ("roles", json!(["coach", 1])),
        ("squads", json!("ext:roster:u16")),
        ("squads", json!(["u16"])),
        ("athletes", json!([7])),
    ] {
        let result = world
            .verify_payload(&payload_with(claim, value.clone()))
            .await;
        assert!(
            matches!(result, Err(TokenError::Claim(_))),
            "{claim}: {value}: {result:?}"
        );
    }
}

#[tokio::test]
async fn a10_null_is_not_the_same_as_absent() {
    let world = World::new().await;
    for claim in ["nbf", "jti", "client_id", "club", "squads", "athletes"] {
        let mut payload = payload();
        payload[claim] = Value::Null;
        let result = world.verify_payload(&payload).await;
        assert!(
            matches!(result, Err(TokenError::Claim(_))),
            "{claim}: {result:?}"
        );
    }
}

#[tokio::test]
async fn a11_other_kinds_of_token_are_refused() {
    let world = World::new().await;
    for typ in [
        "JWT",
        "jwt",
        "id+jwt",
        "rt+jwt",
        "logout+jwt",
        "at+jwt2",
        "",
    ] {
        let result = world
            .verify_header(&json!({ "alg": "EdDSA", "kid": "k1", "typ": typ }))
            .await;
        assert_eq!(result, Err(TokenError::Type), "{typ:?}");
    }
    let untyped = world
        .verify_header(&json!({ "alg": "EdDSA", "kid": "k1" }))
        .await;
    assert_eq!(untyped, Err(TokenError::Type));
    for typ in ["at+jwt", "AT+JWT", "application/at+jwt"] {
        let result = world
            .verify_header(&json!({ "alg": "EdDSA", "kid": "k1", "typ": typ }))
            .await;
        assert!(result.is_ok(), "{typ:?}");
    }
}

#[tokio::test]
async fn a12_extensions_are_refused() {
    let world = World::new().await;
    for (name, value) in [
        ("crit", json!(["x"])),
        ("crit", json!([])),
        ("crit", json!(null)),
        ("crit", json!(["b64"])),
        ("b64", json!(false)),
        ("b64", json!(true)),
    ] {
        let mut header = header("EdDSA", "k1");
        header[name] = value;
        assert_eq!(
            world.verify_header(&header).await,
            Err(TokenError::Extension),
            "{name}"
        );
    }
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
async fn a14_unknown_and_hostile_key_names_are_refused() {
    let world = World::new().await;
    for kid in [
        "k2",
        "",
        "../../dev/null",
        "' OR 1=1",
        "k1\u{0}",
        "K1",
        "http://127.0.0.1/keys",
    ] {
        let result = world.verify(&world.key.token(kid, &payload())).await;
        assert_eq!(result, Err(TokenError::Key), "{kid:?}");
    }
    let result = world
        .verify_header(&json!({ "alg": "EdDSA", "typ": "at+jwt" }))
        .await;
    assert_eq!(result, Err(TokenError::Key), "no kid");
    let result = world
        .verify_header(&json!({ "alg": "EdDSA", "typ": "at+jwt", "kid": 1 }))
        .await;
    assert_eq!(result, Err(TokenError::Malformed), "a number as kid");
    let long = world.key.token(&"k".repeat(10_000), &payload());
    assert_eq!(world.verify(&long).await, Err(TokenError::TooLarge));
    assert_eq!(
        world.server.requests().await,
        1,
        "made-up names cost no fetches"
    );
}

#[tokio::test]
async fn a18_a_large_token_is_refused_unread() {
    let world = World::new().await;
    let token = world
        .key
        .token("k1", &payload_with("padding", json!("x".repeat(12_000))));
    assert!(token.len() > 16_000);
    assert_eq!(world.verify(&token).await, Err(TokenError::TooLarge));
    let below = world
        .key
        .token("k1", &payload_with("padding", json!("x".repeat(5_000))));
    assert!(world.verify(&below).await.is_ok());
}

#[tokio::test]
async fn a20_a_key_that_occurs_twice_is_refused() {
    let world = World::new().await;
    let head = header("EdDSA", "k1").to_string();
    let body = payload().to_string();
    for (head, body) in [
        (
            head.clone(),
            body.replacen('{', r#"{"roles":["club_admin"],"#, 1),
        ),
        (head.clone(), body.replacen('{', r#"{"x":1,"x":1,"#, 1)),
        (
            head.clone(),
            body.replacen('{', r#"{"r\u006fles":["club_admin"],"#, 1),
        ),
        (head.replacen('{', r#"{"alg":"none","#, 1), body.clone()),
        (head.replacen('{', r#"{"kid":"k1","#, 1), body.clone()),
    ] {
        let token = world.key.token_of(&head, &body);
        assert_eq!(
            world.verify(&token).await,
            Err(TokenError::Malformed),
            "{head} {body}"
        );
    }
}

#[tokio::test]
async fn a21_encrypted_and_nested_tokens_are_refused() {
    let world = World::new().await;
    let inner = world.key.token("k1", &payload());
    let nested = world.key.token_of(
        json!({ "alg": "EdDSA", "kid": "k1", "typ": "at+jwt", "cty": "JWT" }).to_string(),
        &inner,
    );
    assert_eq!(world.verify(&nested).await, Err(TokenError::Malformed));
    let jwe = json!({ "alg": "RSA-OAEP", "enc": "A256GCM" }).to_string();
    let five = [jwe.as_str(), "key", "iv", "text", "tag"]
        .map(base64url)
        .join(".");
    assert_eq!(world.verify(&five).await, Err(TokenError::Malformed));
    let three = [jwe.as_str(), "{}", "tag"].map(base64url).join(".");
    assert_eq!(world.verify(&three).await, Err(TokenError::Algorithm));
}

#[tokio::test]
async fn a22_anything_but_three_base64url_parts_is_refused() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
    let parts: Vec<&str> = token.split('.').collect();
    let (head, body, signature) = (parts[0], parts[1], parts[2]);
    let padded = URL_SAFE.encode(payload().to_string() + "  ");
    for token in [
        String::new(),
        ".".into(),
        "..".into(),
        "...".into(),
        head.into(),
        format!("{head}.{body}"),
        format!("{token}."),
        format!(".{token}"),
        format!("{token}.{signature}.{signature}"),
        format!("{head}..{signature}"),
        format!("{head}.{body}=.{signature}"),
        format!("{head}.{padded}=.{signature}"),
        format!("{head}. {body}.{signature}"),
        format!("{head}.{body}\n.{signature}"),
        format!("{head}.+/{body}.{signature}"),
        format!("ü{head}.{body}.{signature}"),
        "\u{0}.\u{0}.\u{0}".into(),
    ] {
        assert_eq!(
            world.verify(&token).await,
            Err(TokenError::Malformed),
            "{token:?}"
        );
    }
    for token in [
        format!("{head}.{body}.{signature}="),
        format!("{head}.{body}.{signature}=="),
    ] {
        assert_eq!(
            world.verify(&token).await,
            Err(TokenError::Signature),
            "{token:?}"
        );
    }
}

#[tokio::test]
async fn a22_parts_that_are_not_json_objects_in_utf8_are_refused() {
    let world = World::new().await;
    let (head, body) = (header("EdDSA", "k1").to_string(), payload().to_string());
    for bad in [
        &b"\xff\xfe{}"[..],
        b"[]",
        b"null",
        b"\"x\"",
        b"{",
        b"",
        b"{}{}",
        b"{\"a\":1e999}",
    ] {
        for token in [
            world.key.token_of(bad, &body),
            world.key.token_of(&head, bad),
        ] {
            assert_eq!(
                world.verify(&token).await,
                Err(TokenError::Malformed),
                "{bad:?}"
            );
        }
    }
    let deep = format!(r#"{{"a":{}{}}}"#, "[".repeat(2_000), "]".repeat(2_000));
    let result = world.verify(&world.key.token_of(&head, deep)).await;
    assert_eq!(result, Err(TokenError::Malformed));
}

#[tokio::test]
async fn a22_a_signature_has_one_spelling() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
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

#[tokio::test]
async fn errors_never_repeat_the_token() {
    let world = World::new().await;
    let mut payload = payload_with("club", json!("canary-7f3a"));
    payload["sub"] = "canary-7f3a\u{7}".into();
    let token = world.key.token("canary-7f3a", &payload);
    for token in [
        token.as_str(),
        "canary-7f3a",
        "canary-7f3a.canary-7f3a.canary-7f3a",
    ] {
        let error = world.verify(token).await.unwrap_err();
        assert!(
            !format!("{error} {error:?}").contains("canary"),
            "{error:?}"
        );
    }
}
