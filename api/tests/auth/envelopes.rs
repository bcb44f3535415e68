//! Attacks on the form of a token and on its header. The numbers only group the cases.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE;
use plimsoll_api::auth::TokenError;
use serde_json::json;

use crate::issuer::{World, base64url, header, payload, payload_with};

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
