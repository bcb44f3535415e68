//! Good tokens, and what is read from them.

use jiff::Timestamp;
use plimsoll_api::auth::{
    AuthSettings, LocalKey, Principal, Reference, Role, TokenError, TokenRequest, Verifier,
};
use serde_json::json;
use uuid::Uuid;

use crate::issuer::{
    ISSUER, KeyServer, SigningKey, World, after, now, payload, payload_with, verifier_at,
};

fn external(source: &str, external_id: &str) -> Reference {
    Reference::External {
        source: source.into(),
        external_id: external_id.into(),
    }
}

#[tokio::test]
async fn a_good_token_gives_its_claims() {
    let world = World::new().await;
    let claims = world.verify_payload(&payload()).await.unwrap();
    assert_eq!(claims.issuer, ISSUER);
    assert_eq!(claims.subject, "coach-vera");
    assert_eq!(claims.client, "club-app");
    assert_eq!(claims.token_id.as_deref(), Some("t-1"));
    assert_eq!(claims.club, Some(external("roster", "hc-riverside")));
    assert_eq!(claims.roles, [Role::Coach]);
    assert_eq!(claims.squads, None);
    assert_eq!(claims.athletes, []);
    assert_eq!(claims.expires_at, after(300));
}

#[tokio::test]
async fn rs256_es256_and_eddsa_keys_are_accepted() {
    for key in [SigningKey::rsa(), SigningKey::p256(), SigningKey::ed25519()] {
        let server = KeyServer::with_keys(&[key.jwk("k1")]).await;
        let claims = server
            .verifier()
            .verify(&key.token("k1", &payload()), now())
            .await;
        assert_eq!(claims.unwrap().subject, "coach-vera", "{}", key.algorithm());
    }
}

#[tokio::test]
async fn an_algorithm_outside_the_issuers_list_is_refused() {
    let key = SigningKey::p256();
    let server = KeyServer::with_keys(&[key.jwk("k1")]).await;
    let verifier = verifier_at(
        &server.address(),
        &json!({ "algorithms": ["RS256", "EdDSA"] }),
    );
    let result = verifier.verify(&key.token("k1", &payload()), now()).await;
    assert_eq!(result, Err(TokenError::Algorithm));
    assert_eq!(
        server.requests().await,
        0,
        "refused before any key is fetched"
    );
}

#[tokio::test]
async fn squads_and_athletes_are_references_of_either_form() {
    let id = Uuid::from_u128(0x018f_0000_0000_7000_8000_0000_0000_0007);
    let mut payload = payload_with("squads", json!([id.to_string(), "ext:roster:u16:a"]));
    payload["athletes"] = json!(["ext:roster:P-07"]);
    let claims = World::new().await.verify_payload(&payload).await.unwrap();
    assert_eq!(
        claims.squads,
        Some(vec![Reference::Id(id), external("roster", "u16:a")])
    );
    assert_eq!(claims.athletes, [external("roster", "P-07")]);
}

#[tokio::test]
async fn the_client_is_client_id_else_azp_else_sub() {
    let world = World::new().await;
    let mut payload = payload();
    payload["azp"] = "other-app".into();
    assert_eq!(
        world.verify_payload(&payload).await.unwrap().client,
        "club-app"
    );
    payload.as_object_mut().unwrap().remove("client_id");
    assert_eq!(
        world.verify_payload(&payload).await.unwrap().client,
        "other-app"
    );
    payload.as_object_mut().unwrap().remove("azp");
    assert_eq!(
        world.verify_payload(&payload).await.unwrap().client,
        "coach-vera"
    );
}

#[tokio::test]
async fn unknown_roles_are_left_out_and_none_left_is_refused() {
    let world = World::new().await;
    let mixed = payload_with(
        "roles",
        json!(["treasurer", "guardian", "Coach", "guardian"]),
    );
    assert_eq!(
        world.verify_payload(&mixed).await.unwrap().roles,
        [Role::Guardian]
    );
    for none in [json!(["treasurer"]), json!([]), json!(null)] {
        let result = world.verify_payload(&payload_with("roles", none)).await;
        assert_eq!(result, Err(TokenError::NoRole));
    }
}

#[tokio::test]
async fn claim_names_and_typ_can_be_set_per_issuer() {
    let key = SigningKey::ed25519();
    let server = KeyServer::with_keys(&[key.jwk("k1")]).await;
    let settings = json!({
        "strict_typ": false,
        "claims": { "club": "https://handball.example/club", "roles": "groups" },
    });
    let verifier = verifier_at(&server.address(), &settings);
    let mut payload = payload_with("club", json!(null));
    payload["https://handball.example/club"] = "ext:roster:hc-riverside".into();
    payload["groups"] = json!(["athletic_trainer"]);
    payload["aud"] = json!(["other", "plimsoll"]);
    for header in [
        json!({ "alg": "EdDSA", "kid": "k1" }),
        json!({ "alg": "EdDSA", "kid": "k1", "typ": "jwt" }),
        json!({ "alg": "EdDSA", "kid": "k1", "typ": "application/AT+JWT" }),
    ] {
        let token = key.token_of(header.to_string(), payload.to_string());
        let claims = verifier.verify(&token, now()).await.unwrap();
        assert_eq!(claims.roles, [Role::AthleticTrainer]);
        assert_eq!(claims.club, Some(external("roster", "hc-riverside")));
    }
    let header = json!({ "alg": "EdDSA", "kid": "k1", "typ": "logout+jwt" });
    let token = key.token_of(header.to_string(), payload.to_string());
    assert_eq!(verifier.verify(&token, now()).await, Err(TokenError::Type));
}

fn request() -> TokenRequest {
    TokenRequest {
        subject: "mia".into(),
        client: "command-line".into(),
        token_id: Uuid::from_u128(1),
        roles: vec![Role::Athlete, Role::Guardian],
        club: Some(Reference::Id(Uuid::from_u128(2))),
        squads: Some(vec![]),
        athletes: vec![external("roster", "P-07")],
        lifetime: std::time::Duration::from_secs(3600),
    }
}

#[tokio::test]
async fn a_local_token_carries_all_that_was_asked_for() {
    let key = LocalKey::generate().unwrap();
    let verifier = Verifier::new(&AuthSettings::default(), Some(&key)).unwrap();
    let claims = verifier
        .verify(&key.sign(&request(), now()).unwrap(), now())
        .await
        .unwrap();
    assert_eq!(claims.issuer, "plimsoll-local");
    assert_eq!(
        (claims.subject.as_str(), claims.client.as_str()),
        ("mia", "command-line")
    );
    assert_eq!(claims.token_id, Some(Uuid::from_u128(1).to_string()));
    assert_eq!(claims.roles, [Role::Athlete, Role::Guardian]);
    assert_eq!(claims.club, request().club);
    assert_eq!(claims.squads, Some(vec![]));
    assert_eq!(claims.athletes, request().athletes);
    assert_eq!(claims.expires_at, after(3600));
    let principal = Principal::acting(&claims, Some("guardian")).unwrap();
    assert_eq!(principal.role, Role::Guardian);
}

#[tokio::test]
async fn local_tokens_are_refused_unless_the_local_key_is_given() {
    let key = LocalKey::generate().unwrap();
    let token = key.sign(&request(), now()).unwrap();
    let off = Verifier::new(&AuthSettings::default(), None).unwrap();
    assert_eq!(off.verify(&token, now()).await, Err(TokenError::Issuer));
    let other = Verifier::new(
        &AuthSettings::default(),
        Some(&LocalKey::generate().unwrap()),
    );
    assert_eq!(
        other.unwrap().verify(&token, now()).await,
        Err(TokenError::Key)
    );
}

#[tokio::test]
async fn a_published_issuer_cannot_sign_as_the_local_one() {
    let key = SigningKey::ed25519();
    let local = LocalKey::generate().unwrap();
    let server = KeyServer::with_keys(&[key.jwk(local.kid())]).await;
    let settings: AuthSettings = serde_json::from_value(json!({ "issuers": [
        { "issuer": ISSUER, "audiences": ["plimsoll"], "jwks_url": server.address() },
    ]}))
    .unwrap();
    let verifier = Verifier::new(&settings, Some(&local)).unwrap();
    let forged = key.token(local.kid(), &payload_with("iss", json!("plimsoll-local")));
    assert_eq!(
        verifier.verify(&forged, now()).await,
        Err(TokenError::Signature)
    );
}

#[test]
fn issuers_of_one_name_are_refused_at_start() {
    let issuer = |name: &str| json!({ "issuer": name, "audiences": ["plimsoll"], "jwks_url": "https://id.example/keys" });
    for issuers in [
        json!([issuer("a"), issuer("a")]),
        json!([issuer("plimsoll-local")]),
    ] {
        let settings: AuthSettings = serde_json::from_value(json!({ "issuers": issuers })).unwrap();
        assert!(Verifier::new(&settings, None).is_err());
    }
}

#[tokio::test]
async fn times_are_judged_by_the_clock_that_is_passed_in() {
    let world = World::new().await;
    let token = world.key.token("k1", &payload());
    let at = async |instant: Timestamp| world.verifier.verify(&token, instant).await;
    // iat = now, exp = now + 300 s, leeway 10 s.
    assert_eq!(at(after(-11)).await, Err(TokenError::NotYetValid));
    assert!(at(after(-10)).await.is_ok());
    assert!(at(after(309)).await.is_ok());
    assert_eq!(at(after(310)).await, Err(TokenError::Expired));
}
