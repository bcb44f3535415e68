//! Making, listing and removing.

use e2e::{Document, FREE_ID};

use crate::*;

#[tokio::test]
async fn the_operator_makes_and_removes_them_where_the_settings_allow_it() {
    let off = Server::start(Database::Sqlite).await;
    let refused = off
        .as_role("operator")
        .post("/v1/sandboxes", json!({}))
        .await;
    refused.expect_problem(409, "sandboxes_off");
    drop(off);

    let (server, files) = service(Database::Sqlite).await;
    let club = server.club("Havneby Handball").await;
    let operator = server.as_role("operator");
    let document = Document::committed();
    let operations = document.every_operation();
    let about = operations
        .iter()
        .filter(|operation| operation.is_about_sandboxes());
    let known: Vec<&str> = about.clone().map(|operation| operation.id()).collect();
    assert_eq!(
        known,
        [
            "read_clock",
            "put_clock",
            "list_sandboxes",
            "create_sandbox",
            "delete_sandbox"
        ]
    );
    let operation = |id: &str| {
        about
            .clone()
            .find(|one| one.id() == id)
            .expect("it is there")
    };
    let (list, create, delete) = (
        operation("list_sandboxes"),
        operation("create_sandbox"),
        operation("delete_sandbox"),
    );
    let (read_clock, put_clock) = (operation("read_clock"), operation("put_clock"));

    let one = format!("/v1/sandboxes/{FREE_ID}");
    for (role, _) in document.reach().filter(|(role, _)| *role != "operator") {
        for (operation, path) in [
            (list, "/v1/sandboxes"),
            (create, "/v1/sandboxes"),
            (delete, one.as_str()),
        ] {
            let refused = club.as_role(role).request(operation.method(), path).await;
            document.assert_knows(operation, &refused.expect_problem(403, "role_may_not"));
            let anonymous = server.anonymous().request(operation.method(), path).await;
            document.assert_knows(operation, &anonymous.expect_problem(401, "unauthenticated"));
        }
    }
    for (given, pointer, code) in [
        (json!({ "seed": -1 }), "/seed", "out_of_range"),
        (
            json!({ "seed": 4_294_967_296_u64 }),
            "/seed",
            "out_of_range",
        ),
        (json!({ "seed": 1.5 }), "/seed", "out_of_range"),
        (json!({ "seed": "7" }), "/seed", "wrong_type"),
        (json!({ "date": "2026-02-30" }), "/date", "invalid_date"),
        (json!({ "date": "2181-01-01" }), "/date", "out_of_range"),
        (json!({ "name": "Nyby" }), "/name", "unknown_field"),
    ] {
        let refused = operator.post("/v1/sandboxes", given).await;
        let refused = refused.expect_problem(422, "invalid");
        let fault = &refused["errors"][0];
        assert_eq!(
            (&fault["pointer"], &fault["code"]),
            (&json!(pointer), &json!(code))
        );
    }
    operator.delete(&one).await.expect_problem(404, "not_found");

    // A trial makes everything, answers alike, and leaves nothing.
    let body = json!({ "seed": 5, "date": "2026-11-25" });
    let send = || operator.post("/v1/sandboxes", body.clone());
    let trial = send().dry_run().await.expect(201);
    assert_eq!(folders(files.path()), 0);
    let made = send().idempotency_key("k-1").await.expect(201);
    for same in ["sandbox_id", "name", "seed", "date", "now", "suggestions"] {
        assert_eq!(trial[same], made[same], "{same}");
    }
    document.assert_knows(create, &made);
    let again = send().idempotency_key("k-1").await.expect(201);
    assert_eq!(
        (
            again.bytes,
            again.headers.contains_key("idempotent-replayed")
        ),
        (made.bytes.clone(), true)
    );
    let other = operator
        .post("/v1/sandboxes", json!({}))
        .idempotency_key("k-1")
        .await;
    other.expect_problem(422, "idempotency_key_reused");

    let listed = operator.get("/v1/sandboxes").await.expect(200);
    document.assert_knows(list, &listed);
    let sandbox = Sandbox {
        server: &server,
        made,
    };
    document.assert_knows(
        read_clock,
        &sandbox.read("coach", "clock").await.expect(200),
    );
    let moved = sandbox.move_to("2026-11-26T06:00:00Z").await.expect(200);
    document.assert_knows(put_clock, &moved);
    let path = format!("/v1/sandboxes/{}", sandbox.made.string("sandbox_id"));
    let trial = operator.delete(&path).dry_run().await;
    document.assert_knows(delete, &trial.expect(204));
    assert_eq!(folders(files.path()), 1);
    sandbox.remove().await;
    operator
        .delete(&path)
        .await
        .expect_problem(404, "not_found");
    assert_eq!(folders(files.path()), 0);
}
