//! What a token opens: its own sandbox, or its own live club, and nothing of the other.

use std::collections::BTreeSet;

use e2e::on_both_databases;

use crate::*;

on_both_databases! {
    async fn credentials_of_a_sandbox_and_of_a_live_club_are_nothing_to_each_other(database: Database) {
        let (mut server, files) = service(database).await;
        let live = server.club("Havneby Handball").await;
        live.squad("U16").await.athlete("P-07").await;
        let operator = server.as_role("operator");
        let before = server.tables();
        let sandbox = Sandbox::make(&server, json!({ "seed": 7, "date": "2026-11-25" })).await;
        assert_eq!(sandbox.made["sandbox_id"], sandbox.made["club_id"]);
        assert_eq!((&sandbox.made["seed"], &sandbox.made["now"]), (&json!(7), &json!("2026-11-25T06:00:00Z")));
        assert_eq!(folders(files.path()), 1);

        // Each role's token works within, and what is answered is marked.
        let club = sandbox.path("");
        let club = club.trim_end_matches('/');
        for role in ["club_admin", "integration", "coach", "strength_coach", "athletic_trainer", "athlete", "guardian", "privacy_lead"] {
            let own = sandbox.as_role(role).get(club).await.expect(200);
            assert_eq!((&own["sandbox"], own.header("sandbox")), (&json!(true), Some("true")), "{role}");
            // Outside it is good for nothing: not in a live club, nor for what is about no club.
            for path in [format!("/v1/clubs/{}", live.id()), "/v1/limits".to_owned(), "/v1/sandboxes".to_owned()] {
                sandbox.as_role(role).get(path).await.expect_problem(401, "unauthenticated");
            }
            let acting = sandbox.as_role(role).post("/v1/clubs", json!({})).header("Acting-Role", "operator").await;
            acting.expect_problem(401, "unauthenticated");
            let acting = sandbox.as_role(role).get(club).header("Acting-Role", "operator").await;
            acting.expect_problem(403, "acting_role_required");
        }
        // The reverse: of the live issuer for the sandbox's own club, too.
        for role in ["operator", "club_admin", "integration", "coach", "privacy_lead"] {
            let stranger = server.client(e2e::Identity::role(role).club(&sandbox.made.string("club_id")), None);
            let refused = stranger.get(club).await.expect_problem(401, "unauthenticated");
            assert_eq!(refused.header("sandbox"), Some("true"));
            live.as_role(role).get(club).await.expect_problem(401, "unauthenticated");
        }
        server.anonymous().get(club).await.expect_problem(401, "unauthenticated");
        let own = live.as_role("coach").get(format!("/v1/clubs/{}", live.id())).await.expect(200);
        assert_eq!((&own["sandbox"], own.header("sandbox")), (&json!(false), None));

        // What is refused, and what is read, is in the sandbox's own audit list; nothing of it is in the live database.
        let athlete = &sandbox.read("integration", "athletes").await.expect(200)["items"][0]["athlete_id"].clone();
        let history = format!("athletes/{}/history?purpose=screening", athlete.as_str().expect("an id"));
        sandbox.read("athletic_trainer", &history).await.expect(200);
        sandbox.read("coach", &history).await.expect_problem(403, "role_may_not");
        let audit = sandbox.read("privacy_lead", "audit").await.expect(200);
        let outcomes: BTreeSet<_> = audit["items"].as_array().expect("rows").iter().map(|row| row["outcome"].to_string()).collect();
        assert_eq!(outcomes, ["\"read\"".to_owned(), "\"refused\"".to_owned()].into());
        assert_eq!(server.tables(), before);

        let list = operator.get("/v1/sandboxes").await.expect(200);
        assert_eq!(list["items"].as_array().map(Vec::len), Some(1));
        assert_eq!(list["items"][0]["sandbox_id"], sandbox.made["sandbox_id"]);
        assert!(!list.text().contains("token"));
        sandbox.remove().await;
        assert_eq!(folders(files.path()), 0);
        let coach = sandbox.token("coach");
        let gone = club.to_owned();
        server.with_token(&coach).get(&gone).await.expect_problem(401, "unauthenticated");
        live.as_role("coach").get(&gone).await.expect_problem(404, "not_found");

        // Stopping the service removes what is left.
        Sandbox::make(&server, json!({})).await;
        assert_eq!(folders(files.path()), 1);
        assert!(server.stop().success());
        assert_eq!(folders(files.path()), 0);
    }
}
