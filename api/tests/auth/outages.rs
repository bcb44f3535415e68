//! An issuer whose keys cannot be fetched.

use plimsoll_api::auth::TokenError;
use plimsoll_api::auth::fetch::FetchError;
use serde_json::json;
use tokio::net::TcpListener;
use wiremock::ResponseTemplate;

use crate::issuer::{
    HOUR, KeyServer, MINUTE, SigningKey, World, after, check, now, status, verifier_at,
};

/// Through an outage of the given kind the last good set serves for a day, and no longer.
async fn outage(bad: ResponseTemplate, expected: FetchError) {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    assert_eq!(check(&verifier, &key, "k1", now()).await, Ok(()));
    server.answer(bad).await;
    for instant in [after(10 * MINUTE), after(HOUR), after(24 * HOUR - 1)] {
        assert_eq!(check(&verifier, &key, "k1", instant).await, Ok(()));
        let status = status(&verifier, instant);
        assert_eq!(status.last_error, Some(expected));
        assert_eq!((status.fetched_at, status.usable), (Some(now()), true));
    }
    let too_late = after(24 * HOUR);
    assert_eq!(
        check(&verifier, &key, "k1", too_late).await,
        Err(TokenError::KeysUnavailable)
    );
    assert!(!status(&verifier, too_late).usable);

    server.publish(&[key.jwk("k1")]).await;
    let repaired = after(24 * HOUR + MINUTE);
    assert_eq!(check(&verifier, &key, "k1", repaired).await, Ok(()));
    assert_eq!(status(&verifier, repaired).last_error, None);
}

#[tokio::test]
async fn outage_with_status_500() {
    outage(ResponseTemplate::new(500), FetchError::Status(500)).await;
}

#[tokio::test]
async fn outage_with_a_part_of_the_answer() {
    let part = ResponseTemplate::new(206).set_body_json(json!({ "keys": [] }));
    outage(part, FetchError::Status(206)).await;
}

#[tokio::test]
async fn outage_with_a_redirect() {
    let elsewhere = KeyServer::with_keys(&[SigningKey::ed25519().jwk("k1")]).await;
    let redirect =
        ResponseTemplate::new(302).insert_header("location", elsewhere.address().as_str());
    outage(redirect, FetchError::Status(302)).await;
    assert_eq!(elsewhere.requests().await, 0, "redirects are not followed");
}

#[tokio::test]
async fn outage_with_garbage() {
    for garbage in [
        "<html>down for repair</html>",
        "",
        "{}",
        r#"{"keys":{}}"#,
        "[[[[",
    ] {
        let answer = ResponseTemplate::new(200).set_body_string(garbage);
        outage(answer, FetchError::NotAKeySet).await;
    }
}

#[tokio::test]
async fn outage_with_three_megabytes() {
    let answer = ResponseTemplate::new(200).set_body_string(" ".repeat(3 << 20));
    outage(answer, FetchError::TooLarge).await;
}

#[tokio::test]
async fn an_outage_is_asked_about_once_a_minute() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    assert_eq!(check(&verifier, &key, "k1", now()).await, Ok(()));
    server.answer(ResponseTemplate::new(503)).await;
    for second in 600..780 {
        assert_eq!(check(&verifier, &key, "k1", after(second)).await, Ok(()));
    }
    // At 600, 660 and 720 s; `answer` started the count anew.
    assert_eq!(server.requests().await, 3);
}

#[tokio::test]
async fn an_issuer_that_starts_later_is_found_within_seconds() {
    let key = SigningKey::ed25519();
    let server = KeyServer::start().await;
    server.answer(ResponseTemplate::new(503)).await;
    let verifier = server.verifier();
    for second in 0..10 {
        let result = check(&verifier, &key, "k1", after(second)).await;
        assert_eq!(result, Err(TokenError::KeysUnavailable));
        assert!(result.unwrap_err().is_outage());
    }
    assert_eq!(server.requests().await, 2, "at 0 and 5 s");
    server.publish(&[key.jwk("k1")]).await;
    assert_eq!(check(&verifier, &key, "k1", after(10)).await, Ok(()));
}

#[tokio::test]
async fn a_refused_connection_is_unreachable() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("http://{}/keys", listener.local_addr().unwrap());
    drop(listener);
    let verifier = verifier_at(&address, &json!({}));
    verifier.renew_keys(now()).await;
    assert_eq!(
        status(&verifier, now()).last_error,
        Some(FetchError::Unreachable)
    );
}

#[tokio::test]
async fn a_server_that_never_answers_is_given_up() {
    // It accepts connections and says nothing; the fetch ends by its own limit of 5 seconds.
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("http://{}/keys", listener.local_addr().unwrap());
    let verifier = verifier_at(&address, &json!({}));
    verifier.renew_keys(now()).await;
    assert_eq!(
        status(&verifier, now()).last_error,
        Some(FetchError::TimedOut)
    );
    drop(listener);
}

#[tokio::test]
async fn a_key_that_is_new_during_an_outage_is_not_called_wrong() {
    let World {
        key,
        server,
        verifier,
    } = World::new().await;
    let new = SigningKey::ed25519();
    assert_eq!(check(&verifier, &key, "k1", now()).await, Ok(()));
    server.answer(ResponseTemplate::new(503)).await;
    let result = check(&verifier, &new, "k2", after(MINUTE)).await;
    assert_eq!(result, Err(TokenError::KeysUnavailable));
    assert_eq!(check(&verifier, &key, "k1", after(MINUTE)).await, Ok(()));
    server.publish(&[key.jwk("k1"), new.jwk("k2")]).await;
    assert_eq!(
        check(&verifier, &new, "k2", after(2 * MINUTE)).await,
        Ok(())
    );
}
