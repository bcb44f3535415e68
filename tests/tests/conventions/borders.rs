//! The border between clubs in bulk calls, and what a refusal tells first. Every other operation: tests/tests/access.

use e2e::{FREE_ID, Writes};

use crate::*;

on_both_databases! {
    async fn a_foreign_athlete_in_a_bulk_call_is_unknown(database: Database) {
        let world = world(database).await;
        let other = world.server.club("Fjordby Handball").await;
        let own = other.squad("U16").await.athlete("F-01").await;
        let mut rows: Vec<Value> = (1..=28)
            .map(|day| own.session(&format!("2026-10-{day:02}T17:30:00+02:00"), 60, 5.0).into_body())
            .collect();
        rows.insert(14, world.report("r-1"));
        let answer = other.bulk(rows).await.expect(200);
        assert_eq!((&answer["accepted"], &answer["rejected"]), (&json!(28), &json!(1)));
        assert_eq!(answer["results"][14]["problems"][0]["code"], "unknown_person");
        assert!(world.sessions().await.is_empty());
        // The same external id in two clubs is two people.
        let namesake = other.squad("U18").await.athlete("P-07").await;
        assert_ne!(namesake.id(), world.athlete.id());
    }

    async fn refusals_come_in_one_order(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let stranger = server.club("Fjordby Handball").await;
        let document = Document::served_by(&server).await;
        let (own, club) = (writes.club().id(), format!("/v1/clubs/{}/", writes.club().id()));
        for operation in document.operations() {
            // What has an id in its path beside the club's, and a body or a precondition.
            let Some(record) = operation.path.strip_prefix("/v1/clubs/{club_id}/") else { continue };
            if operation.method == "GET" || !record.contains('{') {
                continue;
            }
            let absent = format!("{club}{}", filled_with_free_ids(record));
            let method = Method::from_bytes(operation.method.as_bytes()).expect("a method");
            let unreadable = |caller: &Client| {
                caller.request(method.clone(), &absent).body("application/json", "[1").query("nobody", 1)
            };
            unreadable(&server.anonymous()).await.expect_problem(401, "unauthenticated");
            unreadable(&stranger.as_role("integration")).await.expect_problem(404, "not_found");
            let nobody = server.client(Identity::role("operator"), Some(own));
            unreadable(&nobody).await.expect_problem(403, "role_may_not");
            // A record that is out of reach says nothing about the body, and a missing If-Match goes before it.
            let write = writes.of(&operation);
            let puts = operation.method == "PUT" && operation.path.ends_with('}');
            // What belongs to a record is made under one that is there.
            let absent = match operation.path.rsplit_once('/') {
                Some((of, made)) if puts => format!("{}/{}", writes.path(of), filled_with_free_ids(made)),
                _ => absent,
            };
            let to_nothing = write.path(&absent).body("application/json", "[1").await;
            if puts {
                // A `PUT` may make what is not there, unless it is expected to be; what belongs to a record needs that record.
                let takes_json = !operation.body["requestBody"]["content"]["application/json"].is_null();
                let (status, code) = if takes_json { (400, "not_json") } else { (415, "wrong_content_type") };
                to_nothing.expect_problem(status, code);
                let stale = writes.of(&operation).path(&absent).if_match("\"7\"").body("application/json", "[1");
                stale.await.expect_problem(412, "precondition_failed");
            } else {
                to_nothing.expect_problem(404, "not_found");
            }
            if ["PATCH", "DELETE"].contains(&operation.method.as_str()) && !operation.path.contains("revocation") {
                let unconditional = writes.of(&operation).without_header("If-Match").body("application/json", "[1");
                unconditional.await.expect_problem(428, "precondition_required");
            }
        }
    }
}

fn filled_with_free_ids(path: &str) -> String {
    let part = |part: &str| match part {
        "{exercise}" => "no_such_exercise".to_owned(),
        part if part.starts_with('{') => FREE_ID.to_owned(),
        part => part.to_owned(),
    };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}
