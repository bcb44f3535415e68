//! Revoking: a token or everything of a subject is refused at once, until it is lifted.

use std::time::{Duration, Instant};

use base64::Engine;
use base64::prelude::BASE64_URL_SAFE_NO_PAD;
use e2e::{Client, Identity, Server, on_both_databases};
use serde_json::{Value, json};

/// The `jti` of a token.
fn token_id(token: &str) -> String {
    let payload = token.split('.').nth(1).expect("three parts");
    let payload = BASE64_URL_SAFE_NO_PAD.decode(payload).expect("base64url");
    let claims: Value = serde_json::from_slice(&payload).expect("JSON");
    claims["jti"].as_str().expect("a jti").to_owned()
}

/// Asks until it is refused, for the minute in which a revocation has to arrive everywhere.
async fn is_refused_within_a_minute(caller: &Client) {
    let asked = Instant::now();
    while caller.get("squads").await.status != 401 {
        assert!(
            asked.elapsed() < Duration::from_secs(60),
            "still answered after a minute"
        );
        tokio::time::sleep(Duration::from_millis(500)).await;
    }
}

on_both_databases! {
    async fn a_revoked_subject_is_refused_until_it_is_lifted(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let coach = club.client(Identity::role("coach").subject("coach-3"));
        let other = club.client(Identity::role("coach").subject("coach-4"));
        coach.get("squads").await.expect(200);

        let admin = club.as_role("club_admin");
        let reason = json!({ "subject": "coach-3", "reason": "telephone lost" });
        let trial = admin.post("revocations", reason.clone()).dry_run().await.expect(201);
        assert_eq!(trial["kind"], "subject");
        coach.get("squads").await.expect(200);

        let revoked = admin.post("revocations", reason).await.expect(201);
        coach.get("squads").await.expect_problem(401, "unauthenticated");
        other.get("squads").await.expect(200);

        let path = format!("revocations/{}", revoked.string("revocation_id"));
        admin.delete(path.clone()).await.expect(204);
        coach.get("squads").await.expect(200);
        admin.delete(path).await.expect_problem(404, "not_found");
        let listed = admin.get("revocations").await.expect(200);
        assert!(listed["items"][0]["lifted_at"].is_string(), "{}", listed.body);
    }

    async fn one_token_is_revoked_and_the_subjects_other_one_holds(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let coach = |lifetime: &str| {
            let coach = Identity::role("coach").subject("coach-3").club(club.id());
            server.token(&coach.lifetime(lifetime))
        };
        let (lost, kept) = (coach("15m"), coach("20m"));
        let squads = format!("/v1/clubs/{}/squads", club.id());
        let revocation = json!({ "token_id": token_id(&lost), "reason": "telephone lost" });
        let revoked = club.as_role("club_admin").post("revocations", revocation).await.expect(201);
        assert_eq!(revoked["kind"], "token");
        server.with_token(&lost).get(&squads).await.expect_problem(401, "unauthenticated");
        server.with_token(&kept).get(&squads).await.expect(200);
    }

    async fn another_running_process_refuses_within_a_minute(database: Database) {
        let server = Server::start(database).await;
        let other = server.beside().await;
        let club = server.club("Havneby Handball").await;
        let there = |subject: &str| {
            let coach = Identity::role("coach").subject(subject).club(club.id());
            other.client(coach, Some(club.id()))
        };
        let (coach, colleague) = (there("coach-3"), there("coach-4"));
        let token = other.token(&Identity::role("athletic_trainer").subject("trainer-1").club(club.id()));
        let squads = format!("/v1/clubs/{}/squads", club.id());
        let trainer = other.with_token(&token);
        coach.get("squads").await.expect(200);
        trainer.get(&squads).await.expect(200);

        let admin = club.as_role("club_admin");
        admin.post("revocations", json!({ "subject": "coach-3", "reason": "telephone lost" })).await.expect(201);
        admin.post("revocations", json!({ "token_id": token_id(&token), "reason": "telephone lost" })).await.expect(201);
        is_refused_within_a_minute(&coach).await;
        // Both came by then: the other process reads the whole list at once.
        trainer.get(&squads).await.expect_problem(401, "unauthenticated");
        colleague.get("squads").await.expect(200);
    }

    async fn what_to_revoke_is_said_once_and_why(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let admin = club.as_role("club_admin");
        for (body, pointer, code) in [
            (json!({ "subject": "coach-3" }), "/reason", "text_empty"),
            (json!({ "reason": "lost" }), "/subject", "missing_field"),
            (json!({ "subject": "a", "token_id": "b", "reason": "lost" }), "/subject", "ambiguous_person"),
        ] {
            let refused = admin.post("revocations", body).await.expect_problem(422, "invalid");
            assert_eq!(refused["errors"][0]["pointer"], pointer, "{}", refused.body);
            assert_eq!(refused["errors"][0]["code"], code, "{}", refused.body);
        }
    }
}
