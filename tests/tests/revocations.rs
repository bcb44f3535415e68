//! Revoking: a token or everything of a subject is refused at once, until it is lifted.

use e2e::{Identity, on_both_databases};
use serde_json::json;

on_both_databases! {
    async fn a_revoked_subject_is_refused_until_it_is_lifted(database: Database) {
        let server = e2e::Server::start(database).await;
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

    async fn what_to_revoke_is_said_once_and_why(database: Database) {
        let server = e2e::Server::start(database).await;
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
