//! Tokens truly signed, with claims that must not pass. The numbers only group the cases.

use plimsoll_api::auth::{Reference, Role, TokenError};
use serde_json::{Value, json};

use crate::issuer::{NOW, World, after, now, payload, payload_with, verifier_at};

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
async fn a06_a_token_accepted_before_expires_all_the_same() {
    let world = World::new().await;
    let payload = payload_with("exp", json!(after(60).as_second()));
    let token = world.key.token("k1", &payload);
    let verifier = &world.verifier;
    assert!(verifier.verify(&token, now()).await.is_ok());
    let later = verifier.verify(&token, after(70)).await;
    assert_eq!(later.err(), Some(TokenError::Expired));
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
async fn a07_the_later_of_iat_and_nbf_counts() {
    let world = World::new().await;
    for (iat, nbf) in [(600, -3600), (-3600, 600)] {
        let mut payload = payload_with("iat", json!(after(iat).as_second()));
        payload["nbf"] = json!(after(nbf).as_second());
        let result = world.verify_payload(&payload).await;
        assert_eq!(
            result,
            Err(TokenError::NotYetValid),
            "iat {iat} s, nbf {nbf} s"
        );
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
        ("club", json!("hc-riverside")),
        ("club", json!(["ext:roster:hc-riverside"])),
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

const CLUB: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";

#[tokio::test]
async fn an_issuer_gives_only_the_roles_it_may() {
    let world = World::new().await;
    let operator = payload_with("roles", json!(["operator"]));
    assert_eq!(
        world.verify_payload(&operator).await,
        Err(TokenError::NoRole),
        "by default"
    );
    let more = json!({ "roles": ["athletic_trainer"] });
    let limited = verifier_at(&world.server.address(), &more);
    let both = payload_with("roles", json!(["coach", "athletic_trainer"]));
    let claims = limited
        .verify(&world.key.token("k1", &both), now())
        .await
        .unwrap();
    assert_eq!(claims.roles, [Role::AthleticTrainer]);
    let coach = limited
        .verify(&world.key.token("k1", &payload()), now())
        .await;
    assert_eq!(coach, Err(TokenError::NoRole));
}

#[tokio::test]
async fn an_issuer_speaks_only_for_its_clubs_and_may_name_them_its_own_way() {
    let world = World::new().await;
    let other = "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b";
    let more = json!({ "clubs": [CLUB], "club_ids": { "ext:roster:hc-riverside": CLUB } });
    let limited = verifier_at(&world.server.address(), &more);
    for (club, accepted) in [
        (CLUB, true),
        ("ext:roster:hc-riverside", true),
        (other, false),
        ("ext:roster:elsewhere", false),
    ] {
        let token = world.key.token("k1", &payload_with("club", json!(club)));
        let result = limited.verify(&token, now()).await;
        let expected = accepted.then(|| Reference::parse(CLUB).unwrap());
        assert_eq!(
            result.clone().ok().and_then(|claims| claims.club),
            expected,
            "{club}"
        );
        assert_eq!(
            result.err(),
            (!accepted).then_some(TokenError::Club),
            "{club}"
        );
    }
}
