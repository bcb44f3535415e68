//! Key sets over HTTP: what counts as a key, rotation, and how often we ask.

use std::sync::Arc;
use std::time::Duration;

use plimsoll_api::auth::{KeySetStatus, TokenError};
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpListener;
use wiremock::ResponseTemplate;

use crate::issuer::{
    HOUR, ISSUER, KeyServer, MINUTE, SigningKey, World, after, base64url, check, now, payload_with,
    status, verifier_at,
};

#[tokio::test]
async fn one_fetch_serves_until_max_age() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    assert_eq!(status(&verifier, now()).fetched_at, None);
    for second in [0, 1, 300, 599] {
        assert_eq!(check(&verifier, &key, "k1", after(second)).await, Ok(()));
    }
    assert_eq!(server.requests().await, 1);
    let expected = KeySetStatus {
        issuer: ISSUER.into(),
        fetched_at: Some(now()),
        last_error: None,
        keys: 1,
        usable: true,
    };
    assert_eq!(status(&verifier, after(599)), expected);
    assert_eq!(check(&verifier, &key, "k1", after(600)).await, Ok(()));
    assert_eq!(server.requests().await, 2);
}

#[tokio::test]
async fn a_hundred_requests_at_once_make_one_fetch() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    server
        .answer(
            ResponseTemplate::new(200)
                .set_body_json(json!({ "keys": [key.jwk("k1")] }))
                .set_delay(Duration::from_millis(200)),
        )
        .await;
    let (verifier, key) = (Arc::new(verifier), Arc::new(key));
    let requests = (0..100).map(|_| {
        let (verifier, key) = (Arc::clone(&verifier), Arc::clone(&key));
        tokio::spawn(async move { check(&verifier, &key, "k1", now()).await })
    });
    for result in futures_util::future::join_all(requests).await {
        assert_eq!(result.unwrap(), Ok(()));
    }
    assert_eq!(server.requests().await, 1);
}

#[tokio::test]
async fn a_caller_that_goes_away_does_not_break_off_the_fetch() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    let slow = ResponseTemplate::new(200)
        .set_body_json(json!({ "keys": [key.jwk("k1")] }))
        .set_delay(Duration::from_millis(200));
    server.answer(slow).await;
    let gone = check(&verifier, &key, "k1", now());
    assert!(
        tokio::time::timeout(Duration::from_millis(20), gone)
            .await
            .is_err()
    );
    assert_eq!(check(&verifier, &key, "k1", now()).await, Ok(()));
    assert_eq!(server.requests().await, 1);
}

#[tokio::test]
async fn rotation_brings_the_new_key_at_once_and_drops_the_old_one() {
    let (old, new) = (SigningKey::ed25519(), SigningKey::p256());
    let server = KeyServer::with_keys(&[old.jwk("old")]).await;
    let verifier = server.verifier();
    assert_eq!(check(&verifier, &old, "old", now()).await, Ok(()));

    server.publish(&[old.jwk("old"), new.jwk("new")]).await;
    assert_eq!(check(&verifier, &new, "new", after(MINUTE)).await, Ok(()));
    assert_eq!(check(&verifier, &old, "old", after(MINUTE)).await, Ok(()));
    assert_eq!(status(&verifier, after(MINUTE)).keys, 2);

    server.publish(&[new.jwk("new")]).await;
    let later = after(11 * MINUTE);
    assert_eq!(check(&verifier, &new, "new", later).await, Ok(()));
    assert_eq!(
        check(&verifier, &old, "old", later).await,
        Err(TokenError::Key)
    );
}

#[tokio::test]
async fn a_key_replaced_under_its_name_is_replaced() {
    let (old, new) = (SigningKey::ed25519(), SigningKey::ed25519());
    let server = KeyServer::with_keys(&[old.jwk("k1")]).await;
    let verifier = server.verifier();
    assert_eq!(check(&verifier, &old, "k1", now()).await, Ok(()));
    server.publish(&[new.jwk("k1")]).await;
    let later = after(10 * MINUTE);
    assert_eq!(
        check(&verifier, &old, "k1", later).await,
        Err(TokenError::Signature)
    );
    assert_eq!(check(&verifier, &new, "k1", later).await, Ok(()));
}

#[tokio::test]
async fn a_token_accepted_before_is_refused_after_its_key_was_replaced() {
    let (old, new) = (SigningKey::ed25519(), SigningKey::ed25519());
    let server = KeyServer::with_keys(&[old.jwk("k1")]).await;
    let verifier = server.verifier();
    let token = old.token("k1", &payload_with("exp", json!(after(HOUR).as_second())));
    for _ in 0..2 {
        assert!(verifier.verify(&token, now()).await.is_ok());
    }
    server.publish(&[new.jwk("k1")]).await;
    assert_eq!(
        verifier.verify(&token, after(10 * MINUTE)).await.err(),
        Some(TokenError::Signature)
    );
}

#[tokio::test]
async fn made_up_key_names_cost_one_fetch_a_minute() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    assert_eq!(check(&verifier, &key, "k1", now()).await, Ok(()));
    for second in 0..240 {
        let kid = format!("made-up-{second}");
        assert_eq!(
            check(&verifier, &key, &kid, after(second)).await,
            Err(TokenError::Key)
        );
    }
    // At 0 s the good token's; then at 60, 120 and 180 s.
    assert_eq!(server.requests().await, 4);
}

#[tokio::test]
async fn an_issuer_may_withdraw_every_key() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    assert_eq!(check(&verifier, &key, "k1", now()).await, Ok(()));
    server.publish(&[]).await;
    let later = after(10 * MINUTE);
    assert_eq!(
        check(&verifier, &key, "k1", later).await,
        Err(TokenError::Key)
    );
    let status = status(&verifier, later);
    assert_eq!(
        (status.keys, status.usable, status.last_error),
        (0, false, None)
    );
}

#[tokio::test]
async fn renewing_fetches_what_is_missing_or_due() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    for (second, requests) in [(0, 1), (1, 1), (599, 1), (600, 2), (601, 2)] {
        verifier.renew_keys(after(second)).await;
        assert_eq!(server.requests().await, requests, "at {second} s");
    }
    assert_eq!(check(&verifier, &key, "k1", after(660)).await, Ok(()));
    assert_eq!(server.requests().await, 2);
}

#[tokio::test]
async fn a_clock_set_back_does_not_keep_old_keys_alive() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    assert_eq!(check(&verifier, &key, "k1", now()).await, Ok(()));
    server.publish(&[]).await;
    let back = after(-4 * 365 * 24 * HOUR);
    assert_eq!(
        check(&verifier, &key, "k1", back).await,
        Err(TokenError::Key)
    );
    assert_eq!(server.requests().await, 1);
}

#[tokio::test]
async fn keys_that_cannot_or_must_not_be_used_are_left_out() {
    let (ed, rsa, ec) = (SigningKey::ed25519(), SigningKey::rsa(), SigningKey::p256());
    let changed = |mut jwk: Value, name: &str, value: Value| {
        jwk[name] = value;
        jwk
    };
    let left_out = [
        changed(ed.jwk("a"), "use", json!("enc")),
        changed(ed.jwk("b"), "key_ops", json!(["sign"])),
        changed(ed.jwk("c"), "alg", json!("HS256")),
        changed(ed.jwk("d"), "alg", json!("RS256")),
        changed(ed.jwk("e"), "crv", json!("Ed448")),
        changed(ed.jwk("f"), "x", json!(base64url([1; 31]))),
        changed(ed.jwk("g"), "d", json!(base64url([1; 32]))),
        changed(rsa.jwk("h"), "alg", json!("PS256")),
        changed(rsa.jwk("i"), "n", json!(base64url([0xC1; 128]))),
        changed(rsa.jwk("j"), "n", json!(base64url([0xC1; 2048]))),
        changed(rsa.jwk("k"), "n", json!("not base64!")),
        changed(
            rsa.jwk("q"),
            "n",
            json!(base64url([[0; 128], [0xC1; 128]].concat())),
        ),
        changed(ec.jwk("l"), "crv", json!("P-384")),
        changed(ec.jwk("m"), "y", json!(null)),
        changed(ed.jwk("n"), "kid", json!(null)),
        json!({ "kty": "oct", "kid": "o", "alg": "HS256", "k": base64url([1; 32]) }),
        json!({ "kty": "AKP", "kid": "p", "alg": "ML-DSA-44", "pub": "AA" }),
        json!("not an object"),
        json!({}),
    ];
    let mut keys = left_out.to_vec();
    keys.push(ed.jwk("good"));
    let server = KeyServer::with_keys(&keys).await;
    let verifier = server.verifier();
    assert_eq!(check(&verifier, &ed, "good", now()).await, Ok(()));
    assert_eq!(status(&verifier, now()).keys, 1);
}

#[tokio::test]
async fn a_key_without_use_and_algorithm_is_what_its_type_says() {
    let key = SigningKey::p256();
    let mut jwk = key.jwk("k1");
    jwk.as_object_mut()
        .unwrap()
        .retain(|name, _| name != "use" && name != "alg");
    let server = KeyServer::with_keys(&[jwk]).await;
    assert_eq!(check(&server.verifier(), &key, "k1", now()).await, Ok(()));
}

#[tokio::test]
async fn of_two_keys_with_one_name_the_first_counts() {
    let (first, second) = (SigningKey::ed25519(), SigningKey::ed25519());
    let server = KeyServer::with_keys(&[first.jwk("k1"), second.jwk("k1")]).await;
    let verifier = server.verifier();
    assert_eq!(check(&verifier, &first, "k1", now()).await, Ok(()));
    assert_eq!(
        check(&verifier, &second, "k1", now()).await,
        Err(TokenError::Signature)
    );
}

/// Accepts one fetch and answers it; the connection ends with the answer.
async fn answer_one(listener: &TcpListener, hold: impl Future<Output = ()>, key: &SigningKey) {
    let (mut stream, _) = listener.accept().await.unwrap();
    let mut request = Vec::new();
    while !request.ends_with(b"\r\n\r\n") {
        assert_ne!(stream.read_buf(&mut request).await.unwrap(), 0);
    }
    hold.await;
    let body = json!({ "keys": [key.jwk("k1")] }).to_string();
    let head = format!("HTTP/1.1 200 OK\r\nContent-Length: {}\r\n\r\n", body.len());
    stream.write_all((head + &body).as_bytes()).await.unwrap();
}

#[tokio::test]
async fn nobody_waits_for_a_fetch_whose_key_may_still_be_used() {
    let key = Arc::new(SigningKey::ed25519());
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("http://{}/keys", listener.local_addr().unwrap());
    let verifier = Arc::new(verifier_at(&address, &json!({})));
    let (_, first) = tokio::join!(
        answer_one(&listener, async {}, &key),
        check(&verifier, &key, "k1", now())
    );
    assert_eq!(first, Ok(()));

    let later = after(10 * MINUTE);
    let waiting = tokio::spawn({
        let (verifier, key) = (Arc::clone(&verifier), Arc::clone(&key));
        async move { check(&verifier, &key, "k1", later).await }
    });
    // Its fetch has arrived and is not answered before the second request is through.
    let second = async {
        assert_eq!(check(&verifier, &key, "k1", later).await, Ok(()));
        assert!(!waiting.is_finished());
    };
    answer_one(&listener, second, &key).await;
    assert_eq!(waiting.await.unwrap(), Ok(()));
}

/// Runs another test of this program once more, in an environment that names a proxy.
#[test]
fn a_proxy_in_the_environment_is_not_used() {
    let nowhere = "http://127.0.0.1:9";
    let run = std::process::Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "key_sets::one_fetch_serves_until_max_age"])
        .envs(["HTTP_PROXY", "http_proxy", "ALL_PROXY", "all_proxy"].map(|name| (name, nowhere)))
        .env_remove("NO_PROXY")
        .env_remove("no_proxy")
        .output()
        .unwrap();
    let output = String::from_utf8_lossy(&run.stdout);
    assert!(
        run.status.success() && output.contains("1 passed"),
        "{output}"
    );
}
