//! An `Idempotency-Key` makes a `POST` safe to repeat.

use crate::*;

on_both_databases! {
    async fn the_same_request_gets_the_same_answer(database: Database) {
        let world = world(database).await;
        let send = || world.app().post("sessions", world.report("r-1")).idempotency_key("k-1");
        let first = send().await.expect(201);
        assert_eq!(first.header("idempotent-replayed"), None);
        let again = send().await.expect(201);
        assert_eq!(again.bytes, first.bytes);
        assert_eq!(again.header("idempotent-replayed"), Some("true"));
        for name in ["etag", "location", "content-type"] {
            assert_eq!(again.header(name), first.header(name), "{name}");
        }
        assert_eq!(world.sessions().await.len(), 1);
    }

    async fn a_refusal_is_repeated_too(database: Database) {
        let world = world(database).await;
        let mut report = world.report("r-1");
        report["rpe"] = json!(11);
        let send = || world.app().post("sessions", report.clone()).idempotency_key("k-1");
        let first = send().await.expect_problem(422, "invalid");
        let again = send().await.expect_problem(422, "invalid");
        assert_eq!(again.bytes, first.bytes);
        assert_eq!(world.sessions().await.len(), 0);
    }

    async fn other_content_under_the_key_is_refused(database: Database) {
        let world = world(database).await;
        world.app().post("sessions", world.report("r-1")).idempotency_key("k-1").await.expect(201);
        let other = world.app().post("sessions", world.report("r-2")).idempotency_key("k-1").await;
        other.expect_problem(422, "idempotency_key_reused");
        let query = world.app().post("sessions", world.report("r-1")).query("dry_run", "false").idempotency_key("k-1");
        query.await.expect_problem(422, "idempotency_key_reused");
        assert_eq!(world.sessions().await.len(), 1);
    }

    async fn trials_neither_read_nor_keep_keys(database: Database) {
        let world = world(database).await;
        let trial = world.app().post("sessions", world.report("r-1")).dry_run().idempotency_key("k-1");
        trial.await.expect(201);
        world.app().post("sessions", world.report("r-2")).idempotency_key("k-1").await.expect(201);
        let trial = world.app().post("sessions", world.report("r-3")).dry_run().idempotency_key("k-1");
        assert_eq!(trial.await.expect(201)["external_id"], "r-3");
    }

    async fn fifty_at_once_have_one_effect(database: Database) {
        let world = world(database).await;
        let (app, report) = (world.app(), world.report("r-1"));
        let one = |app: Client, report: Value| async move {
            loop {
                let answer = app.post("sessions", report.clone()).idempotency_key("k-1").await;
                // Busy, or the first one is still being answered: the same key may simply be sent again.
                match answer.status {
                    409 | 503 => tokio::task::yield_now().await,
                    _ => return answer.expect(201).bytes,
                }
            }
        };
        // Signed before, so that fifty tasks do not each sign the same token.
        app.get("sessions").await.expect(200);
        let tasks: Vec<_> = (0..50).map(|_| tokio::spawn(one(app.clone(), report.clone()))).collect();
        let mut answers = Vec::new();
        for task in tasks {
            answers.push(task.await.expect("the task ends"));
        }
        answers.dedup();
        assert_eq!(answers.len(), 1, "all answers are the same bytes");
        assert_eq!(world.sessions().await.len(), 1);
    }

    async fn a_key_is_the_callers_own(database: Database) {
        let world = world(database).await;
        let other = world.server.club("Fjordby Handball").await;
        let squad = |name: &str| json!({ "name": name, "external_id": name });
        let admin = world.club.as_role("club_admin");
        let first = admin.post("squads", squad("U18")).idempotency_key("k-1").await.expect(201);
        // The same key and content in another club, in another role and from another person is another request.
        let elsewhere = other.as_role("club_admin").post("squads", squad("U18")).idempotency_key("k-1");
        assert_ne!(elsewhere.await.expect(201)["squad_id"], first["squad_id"]);
        let role = world.app().post("squads", squad("U18")).idempotency_key("k-1").await;
        let problem = role.expect_problem(422, "invalid");
        assert_eq!(problem["errors"][0]["code"], "not_unique", "{}", problem.text());
        let person = world.club.client(Identity::role("club_admin").subject("another"));
        let problem = person.post("squads", squad("U18")).idempotency_key("k-1").await.expect_problem(422, "invalid");
        assert_eq!(problem["errors"][0]["code"], "not_unique", "{}", problem.text());
    }

    async fn a_key_belongs_to_its_path(database: Database) {
        let world = world(database).await;
        let report = world.report("r-1");
        world.app().post("sessions", report.clone()).idempotency_key("k-1").await.expect(201);
        let bulk = world.app().post("sessions/bulk", json!({ "sessions": [report] })).idempotency_key("k-1");
        assert_eq!(bulk.await.expect(200)["unchanged"], 1);
    }

    async fn a_key_survives_a_restart_and_ends_after_a_day(database: Database) {
        let mut world = world(database).await;
        let body = world.report("r-1");
        let first = world.app().post("sessions", body.clone()).idempotency_key("k-1").await.expect(201);
        world.server.restart().await;
        let again = world.app().post("sessions", body.clone()).idempotency_key("k-1").await.expect(201);
        assert_eq!(again.bytes, first.bytes);
        // The clock starts at 08:00 on 9 November.
        world.server.restart_at("2026-11-10T07:59:00+01:00").await;
        let kept = world.app().post("sessions", body.clone()).idempotency_key("k-1").await.expect(201);
        assert_eq!(kept.bytes, first.bytes);
        world.server.restart_at("2026-11-10T09:00:00+01:00").await;
        let forgotten = world.app().post("sessions", body).idempotency_key("k-1").await.expect(200);
        assert_eq!(forgotten.header("idempotent-replayed"), None);
        assert_eq!(world.sessions().await.len(), 1);
    }

    async fn quoted_and_bare_are_one_key_and_others_are_refused(database: Database) {
        let world = world(database).await;
        let send = |key: &str| world.app().post("sessions", world.report("r-1")).idempotency_key(key);
        let first = send("k-1").await.expect(201);
        assert_eq!(send("\"k-1\"").await.expect(201).bytes, first.bytes);
        for key in ["", "\"\"", " ", "x".repeat(256).as_str()] {
            send(key).await.expect_problem(400, "bad_header");
        }
        let twice = send("k-2").idempotency_key("k-3").await;
        twice.expect_problem(400, "bad_header");
        let stream = world.app().request(Method::POST, "sessions/bulk").body("application/x-ndjson", "");
        stream.idempotency_key("k-1").await.expect_problem(400, "bad_header");
    }
}
