//! The border between clubs: what is on the other side is as if it were not there.

use e2e::Writes;

use crate::*;

const NOBODY: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";

/// The body without the request id, which is the only thing that may differ.
fn without_instance(answer: Answer) -> Value {
    let mut body = answer.expect_problem(404, "not_found").body;
    body.as_object_mut().expect("an object").remove("instance");
    body
}

fn filled(path: &str, club: &str, world: &World, session: &str) -> String {
    let part = |part: &str| match part {
        "{club_id}" => club.to_owned(),
        "{athlete_id}" => world.athlete.id().to_owned(),
        "{squad_id}" => world.squad.id().to_owned(),
        "{session_id}" => session.to_owned(),
        "{week}" => "2026-W45".to_owned(),
        _ if part.starts_with('{') => NOBODY.to_owned(),
        _ => part.to_owned(),
    };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}

on_both_databases! {
    async fn another_club_is_as_absent_as_one_that_never_was(database: Database) {
        let world = world(database).await;
        let session = world.app().post("sessions", world.report("r-1")).await.expect(201).string("session_id");
        let stranger = world.server.club("Fjordby Handball").await;
        let document = Document::served_by(&world.server).await;
        for role in ["integration", "coach", "club_admin", "athletic_trainer", "athlete", "guardian", "privacy_lead"] {
            let caller = stranger.client(Identity::role(role).athlete(world.athlete.id()));
            for operation in document.operations().into_iter().filter(|operation| operation.has_club()) {
                let method = Method::from_bytes(operation.method.as_bytes()).expect("a method");
                let call = |club: &str| {
                    let path = filled(&operation.path, club, &world, &session);
                    caller.request(method.clone(), path).body("application/json", "{}")
                };
                let foreign = without_instance(call(world.club.id()).await);
                let absent = without_instance(call(NOBODY).await);
                assert_eq!(foreign, absent, "{role}: {}", operation.name());
            }
        }
        assert_eq!(world.sessions().await.len(), 1);
    }

    async fn records_of_another_club_are_absent_under_ones_own(database: Database) {
        let world = world(database).await;
        let session = world.app().post("sessions", world.report("r-1")).await.expect(201).string("session_id");
        let other = world.server.club("Fjordby Handball").await;
        let (app, coach) = (other.as_role("integration"), other.as_role("coach"));
        let (athlete, squad) = (world.athlete.id(), world.squad.id());
        for (caller, foreign, absent) in [
            (&coach, format!("athletes/{athlete}/load"), format!("athletes/{NOBODY}/load")),
            (&coach, format!("athletes/{athlete}/weeks"), format!("athletes/{NOBODY}/weeks")),
            (&coach, format!("squads/{squad}/weeks/2026-W45"), format!("squads/{NOBODY}/weeks/2026-W45")),
            (&app, format!("athletes/{athlete}"), format!("athletes/{NOBODY}")),
            (&app, format!("squads/{squad}"), format!("squads/{NOBODY}")),
            (&app, format!("squads/{squad}/members"), format!("squads/{NOBODY}/members")),
            (&app, format!("sessions/{session}"), format!("sessions/{NOBODY}")),
        ] {
            let foreign_body = without_instance(caller.get(&foreign).await);
            assert_eq!(foreign_body, without_instance(caller.get(absent).await), "{foreign}");
        }
        let patch = app.patch(format!("sessions/{session}"), json!({ "rpe": 1 })).if_match("*");
        patch.await.expect_problem(404, "not_found");
        let remove = app.delete(format!("sessions/{session}")).if_match("*");
        remove.body("application/json", r#"{"reason": "not ours"}"#).await.expect_problem(404, "not_found");
        assert_eq!(world.sessions().await[0]["rpe"], 6.0);
    }

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
            let to_nothing = write.path(&absent).body("application/json", "[1").await;
            if operation.method == "PUT" {
                // A `PUT` may make what is not there, unless it is expected to be.
                to_nothing.expect_problem(400, "not_json");
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
    let part = |part: &str| {
        if part.starts_with('{') {
            NOBODY.to_owned()
        } else {
            part.to_owned()
        }
    };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}
