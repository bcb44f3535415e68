//! Drafts of the policy: written by one person, approved by another, effective from a date.

use e2e::{Client, Club, Identity, Server, on_both_databases};
use serde_json::{Value, json};

/// An administrator of the club, by name.
fn admin(club: &Club, name: &str) -> Client {
    club.client(Identity::role("club_admin").subject(name))
}

/// The example policy from another date on.
fn policy(club: &Club, from: &str) -> Value {
    club.example_policy()
        .with("effective_from", from)
        .into_body()
}

/// Writes a draft and answers its path.
async fn draft(by: &Client, policy: Value) -> String {
    let made = by.post("policy/drafts", policy).await.expect(201);
    assert_eq!((&made["version"], made.etag()), (&json!(1), "\"1\""));
    let path = format!("policy/drafts/{}", made.string("draft_id"));
    let location = made.header("location").expect("a location");
    assert!(location.ends_with(&path), "{location}");
    path
}

async fn approve(by: &Client, draft: &str, version: &str) -> e2e::Answer {
    by.post(format!("{draft}/approval"), json!({}))
        .if_match(version)
        .await
}

on_both_databases! {
    async fn another_person_approves_a_draft(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let (vera, ida) = (admin(&club, "vera"), admin(&club, "ida"));
        let path = draft(&vera, policy(&club, "2026-08-03")).await;
        vera.get("policy").await.expect_problem(404, "not_found");

        approve(&vera, &path, "\"1\"").await.expect_problem(403, "own_draft");
        ida.post(format!("{path}/approval"), json!({})).await.expect_problem(428, "precondition_required");
        approve(&ida, &path, "\"2\"").await.expect_problem(412, "precondition_failed");
        let trial = ida.post(format!("{path}/approval"), json!({})).if_match("\"1\"").dry_run().await.expect(200);
        vera.get("policy").await.expect_problem(404, "not_found");
        let made = approve(&ida, &path, "\"1\"").await.expect(200);
        assert_eq!((&trial["rules"], &trial["approver"]), (&made["rules"], &made["approver"]));
        assert_eq!((&made["version"], &made["author"], &made["approver"]), (&json!(1), &json!("vera"), &json!("ida")));
        assert_eq!(vera.get("policy").await.expect(200).body, made.body);
        assert_eq!(vera.get("policy/drafts").await.expect(200)["items"], json!([]));
        approve(&ida, &path, "\"1\"").await.expect_problem(404, "not_found");
    }

    async fn whoever_changed_it_last_does_not_approve_it(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let (vera, ida) = (admin(&club, "vera"), admin(&club, "ida"));
        let lead = club.client(Identity::role("privacy_lead").subject("olga"));
        let path = draft(&vera, policy(&club, "2026-08-03")).await;
        let other = policy(&club, "2026-08-10");
        ida.put(&path, other.clone()).await.expect_problem(428, "precondition_required");
        let changed = ida.put(&path, other.clone()).if_match("\"1\"").await.expect(200);
        assert_eq!((&changed["changed_by"], &changed["written_by"], &changed["version"]), (&json!("ida"), &json!("vera"), &json!(2)));
        // The same content again is no change, and does not make her the last who changed it.
        let same = vera.put(&path, other).await.expect(200);
        assert_eq!(same.body, changed.body);
        approve(&vera, &path, "\"2\"").await.expect_problem(403, "own_draft");
        approve(&ida, &path, "\"2\"").await.expect_problem(403, "own_draft");
        // One person in two roles is one person.
        let ida_too = club.client(Identity::role("privacy_lead").subject("ida"));
        approve(&ida_too, &path, "\"2\"").await.expect_problem(403, "own_draft");
        assert_eq!(lead.get(&path).await.expect(200).body, changed.body);
        let made = approve(&lead, &path, "\"2\"").await.expect(200);
        assert_eq!((&made["author"], &made["approver"]), (&json!("ida"), &json!("olga")));
    }

    async fn a_policy_that_takes_two_persons_is_not_set_by_one(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let (vera, ida) = (admin(&club, "vera"), admin(&club, "ida"));
        let two = |from: &str| {
            let mut body = policy(&club, from);
            body["second_approver"] = json!("required");
            body
        };
        let first = vera.put("policy", two("2026-08-03")).await.expect(201);
        assert_eq!((&first["second_approver"], &first["approver"]), (&json!("required"), &Value::Null));
        assert_eq!(vera.put("policy", two("2026-08-03")).await.expect(200).body, first.body);
        // Not even to be let off.
        for body in [two("2026-11-16"), policy(&club, "2026-11-16")] {
            let refused = vera.put("policy", body).if_match("\"1\"").await;
            refused.expect_problem(409, "second_approver_required");
        }
        let path = draft(&vera, policy(&club, "2026-11-16")).await;
        approve(&ida, &path, "\"1\"").await.expect(200);
        vera.put("policy", policy(&club, "2026-11-23")).if_match("\"2\"").await.expect(200);
    }

    async fn an_approval_reaches_no_past(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let (vera, ida) = (admin(&club, "vera"), admin(&club, "ida"));
        club.example_policy().await;
        let path = draft(&vera, policy(&club, "2026-11-08")).await;
        let refused = approve(&ida, &path, "\"1\"").await.expect_problem(422, "invalid");
        assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!("/effective_from"), &json!("policy_in_past")));
        vera.put(&path, policy(&club, "2026-11-09")).if_match("\"1\"").await.expect(200);
        let made = approve(&ida, &path, "\"2\"").await.expect(200);
        assert_eq!((&made["version"], &made["effective_from"]), (&json!(2), &json!("2026-11-09")));
        // What says the same as the latest version makes none.
        let path = draft(&vera, policy(&club, "2026-11-09")).await;
        assert_eq!(approve(&ida, &path, "\"1\"").await.expect(200).body, made.body);
    }

    async fn a_draft_is_refused_for_its_faults_and_kept_by_its_club(database: Database) {
        let server = Server::start(database).await;
        let (club, other) = (server.club("Havneby Handball").await, server.club("Fjordby Handball").await);
        let vera = admin(&club, "vera");
        let mut faulty = policy(&club, "soon");
        faulty["second_approver"] = json!("maybe");
        let refused = vera.post("policy/drafts", faulty).await.expect_problem(422, "invalid");
        let pointers: Vec<&Value> = refused["errors"].as_array().expect("errors").iter().map(|fault| &fault["pointer"]).collect();
        assert_eq!(pointers, ["/effective_from", "/second_approver"]);

        let path = draft(&vera, policy(&club, "2026-08-03")).await;
        for (who, status, code) in [
            (admin(&other, "vera"), 404, "not_found"),
            (club.as_role("coach"), 403, "role_may_not"),
            (club.as_role("integration"), 403, "role_may_not"),
        ] {
            who.get(&path).await.expect_problem(status, code);
            approve(&who, &path, "\"1\"").await.expect_problem(status, code);
        }
        let lead = club.as_role("privacy_lead");
        lead.put(&path, policy(&club, "2026-08-10")).if_match("\"1\"").await.expect_problem(403, "role_may_not");
        vera.delete(&path).await.expect_problem(428, "precondition_required");
        vera.delete(&path).if_match("\"1\"").await.expect(204);
        vera.get(&path).await.expect_problem(404, "not_found");
        vera.put(&path, policy(&club, "2026-08-03")).await.expect(201);
    }

    async fn a_stored_draft_is_rehearsed_as_one_that_is_sent(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U16").await.athlete("P-12").with("joined_on", "2026-10-12").await;
        club.bulk(athlete.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0])).await.expect(200);
        let vera = admin(&club, "vera");
        let path = draft(&vera, policy(&club, "2026-11-16")).await;
        let id = path.rsplit('/').next().expect("an id");
        let ask = |mut body: Value| {
            body["from_week"] = json!("2026-W42");
            club.as_role("privacy_lead").post("policy/rehearsals", body)
        };
        let sent = ask(json!({ "policy": policy(&club, "2026-11-16") })).await.expect(200);
        assert_eq!(ask(json!({ "draft_id": id })).await.expect(200).body, sent.body);
        assert_eq!(sent["draft"]["certain"], 1);
        for (body, code) in [
            (json!({}), "missing_field"),
            (json!({ "draft_id": e2e::FREE_ID }), "unknown_draft"),
            (json!({ "draft_id": id, "policy": policy(&club, "2026-11-16") }), "ambiguous_policy"),
        ] {
            let refused = ask(body).await.expect_problem(422, "invalid");
            assert_eq!(refused["errors"][0]["code"], code);
        }
    }
}
