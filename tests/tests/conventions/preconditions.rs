//! ETags: nobody overwrites what he has not seen.

use crate::*;

const ID: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";

on_both_databases! {
    async fn changing_needs_the_current_etag(database: Database) {
        let world = world(database).await;
        let made = world.app().post("sessions", world.report("r-1")).await.expect(201);
        let path = format!("sessions/{}", made.string("session_id"));
        let patch = || world.app().patch(&path, json!({ "rpe": 5 }));

        patch().await.expect_problem(428, "precondition_required");
        for stale in ["\"2\"", "\"0\"", "1", "W/\"1\"", "\"\"", "nonsense"] {
            patch().if_match(stale).await.expect_problem(412, "precondition_failed");
        }
        let read = world.app().get(&path).await.expect(200);
        assert_eq!((read.etag(), &read["rpe"]), (made.etag(), &json!(6.0)), "nothing was changed");

        let changed = patch().if_match(made.etag()).await.expect(200);
        assert_eq!((&changed["version"], &changed["rpe"]), (&json!(2), &json!(5.0)));
        assert_eq!(changed["counted"]["load_au"], 450.0);
        patch().if_match(made.etag()).await.expect_problem(412, "precondition_failed");
        let listed = format!("\"9\", {}", changed.etag());
        let listed = world.app().patch(&path, json!({ "rpe": 4 })).if_match(&listed).await.expect(200);
        assert_eq!(listed["version"], 3);
        let any = world.app().patch(&path, json!({ "rpe": 3 })).if_match("*").await.expect(200);
        assert_eq!((&any["version"], &any["rpe"]), (&json!(4), &json!(3.0)));
    }

    async fn put_creates_leaves_and_replaces(database: Database) {
        let world = world(database).await;
        let put = |body: Value| world.app().put(format!("sessions/{ID}"), body);
        let body = world.report("r-1");
        put(body.clone()).if_match("*").await.expect_problem(412, "precondition_failed");
        put(body.clone()).if_match("\"1\"").await.expect_problem(412, "precondition_failed");
        let made = put(body.clone()).await.expect(201);
        assert_eq!((made.string("session_id").as_str(), &made["version"]), (ID, &json!(1)));
        assert!(made.header("location").is_some_and(|location| location.ends_with(ID)));

        let same = put(body.clone()).await.expect(200);
        assert_eq!((&same["version"], same.etag()), (&json!(1), made.etag()));
        let mut other = body;
        other["minutes"] = json!(60);
        put(other.clone()).await.expect_problem(428, "precondition_required");
        put(other.clone()).if_match("\"7\"").await.expect_problem(412, "precondition_failed");
        assert_eq!(world.app().get(format!("sessions/{ID}")).await.expect(200)["minutes"], 90);
        let replaced = put(other).if_match(made.etag()).await.expect(200);
        assert_eq!((&replaced["version"], &replaced["counted"]["load_au"]), (&json!(2), &json!(360.0)));
    }

    async fn a_merge_patch_takes_out_what_is_null(database: Database) {
        let world = world(database).await;
        let mut body = world.report("r-1");
        body["note"] = json!("wet hall");
        let made = world.app().post("sessions", body).await.expect(201);
        assert_eq!(made["note"], "wet hall");
        let path = format!("sessions/{}", made.string("session_id"));
        let patch = json!({ "note": null, "minutes": 80 });
        let changed = world.app().patch(&path, patch).if_match(made.etag()).await.expect(200);
        assert_eq!((&changed["note"], &changed["minutes"], &changed["rpe"]), (&Value::Null, &json!(80), &json!(6.0)));

        let required = world.app().patch(&path, json!({ "rpe": null })).if_match(changed.etag()).await;
        let required = required.expect_problem(422, "invalid");
        assert_eq!((&required["errors"][0]["pointer"], &required["errors"][0]["code"]), (&json!("/rpe"), &json!("missing_field")));
        for not_an_object in [json!([1]), json!("x"), json!(null)] {
            let refused = world.app().patch(&path, not_an_object).if_match(changed.etag()).await;
            assert_eq!(refused.expect_problem(422, "invalid")["errors"][0]["code"], "wrong_type");
        }
        // Nothing in a patch may move the report to another id.
        let id = world.app().patch(&path, json!({ "session_id": ID })).if_match(changed.etag()).await;
        assert_eq!(id.expect_problem(422, "invalid")["errors"][0]["code"], "unknown_field");
    }

    async fn removing_needs_a_reason_and_leaves_no_load(database: Database) {
        let world = world(database).await;
        let made = world.app().put(format!("sessions/{ID}"), world.report("r-1")).await.expect(201);
        let remove = || world.app().delete(format!("sessions/{ID}"));
        remove().await.expect_problem(428, "precondition_required");
        let no_reason = remove().if_match(made.etag()).await.expect_problem(422, "invalid");
        assert_eq!(no_reason["errors"][0]["code"], "reason_required");
        let removal = || remove().body("application/json", r#"{"reason": "entered twice"}"#);
        removal().if_match("\"5\"").await.expect_problem(412, "precondition_failed");
        assert_eq!(world.athlete.day_figures("2026-11-03").await["load_au"], 540.0);

        removal().if_match(made.etag()).await.expect(204);
        world.app().get(format!("sessions/{ID}")).await.expect_problem(404, "not_found");
        removal().if_match("*").await.expect_problem(404, "not_found");
        assert!(world.sessions().await.is_empty());
        assert_eq!(world.athlete.day_figures("2026-11-03").await["load_au"], 0.0);

        // Entered again it counts again: deletion and re-entry give the original.
        world.app().put(format!("sessions/{ID}"), world.report("r-1")).await.expect(201);
        assert_eq!(world.athlete.day_figures("2026-11-03").await["load_au"], 540.0);
    }
}
