//! Header fields: quota, trace, request id, caching, acting role.

use crate::*;

#[tokio::test]
async fn the_quota_is_announced_and_kept() {
    // One request in 30 seconds comes back, far more than the calls below take.
    let server = Server::setup(Database::Sqlite)
        .setting("PLIMSOLL_RATE_LIMIT", "2")
        .start()
        .await;
    let club = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";
    let call = |subject: &str| {
        let coach = Identity::role("coach").club(club).subject(subject);
        server.client(coach, Some(club)).get("flags")
    };
    for left in [1, 0] {
        let answer = call("one").await;
        assert_ne!(answer.status, 429, "{}", answer.text());
        assert_eq!(
            answer.header("ratelimit-policy"),
            Some("\"default\";q=2;w=60")
        );
        let limit = answer.header("ratelimit").unwrap_or_default();
        assert!(
            limit.starts_with(&format!("\"default\";r={left};t=")),
            "{limit}"
        );
    }
    let refused = call("one").header("X-Forwarded-For", "203.0.113.7").await;
    let refused = refused.expect_problem(429, "too_many_requests");
    let wait: u32 = refused
        .header("retry-after")
        .expect("Retry-After")
        .parse()
        .expect("seconds");
    assert!((1..=60).contains(&wait), "{wait}");
    assert!(
        refused
            .header("ratelimit")
            .is_some_and(|limit| limit.starts_with("\"default\";r=0;t="))
    );
    assert_ne!(
        call("another").await.status,
        429,
        "the quota is one token's own"
    );
}

on_both_databases! {
    async fn every_answer_names_its_request(database: Database) {
        let world = world(database).await;
        let made = world.app().post("sessions", world.report("r-1")).await.expect(201);
        let answers = [
            world.app().get("sessions").await,
            world.app().get(format!("sessions/{}", made.string("session_id"))).await,
            world.app().post("sessions", json!({})).await,
            world.app().get("sessions").query("limit", 0).await,
            world.server.anonymous().get(format!("/v1/clubs/{}/sessions", world.club.id())).await,
            world.club.as_role("operator").get("sessions").await,
            world.server.anonymous().get("/nowhere").await,
            world.server.anonymous().request(Method::DELETE, "/health/live").await,
        ];
        let mut ids = Vec::new();
        for answer in &answers {
            let id = answer.header("x-request-id").expect("X-Request-Id").to_owned();
            if answer.status >= 400 {
                assert_eq!(answer["instance"], id.as_str(), "{}", answer.text());
                assert_eq!(answer["type"], format!("/problems/{}", answer.string("code")));
            }
            if answer.request.contains("/v1/") {
                assert_eq!(answer.header("cache-control"), Some("no-store"), "{}", answer.request);
            }
            ids.push(id);
        }
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), answers.len());
        assert_eq!(answers[4].header("www-authenticate"), Some("Bearer"));
    }

    async fn a_trace_is_continued(database: Database) {
        let server = Server::start(database).await;
        let trace = "4bf92f3577b34da6a3ce929d0e0e4736";
        let given = format!("00-{trace}-00f067aa0ba902b7-01");
        let answer = server.anonymous().get("/health/live").header("traceparent", &given).await.expect(200);
        let sent = answer.header("traceparent").expect("a traceparent");
        assert!(sent.starts_with(&format!("00-{trace}-")) && sent != given, "{sent}");
        assert!(server.log().contains(trace), "the log line names the trace");
        for odd in ["", "00-zz-00-01", "ff-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"] {
            let answer = server.anonymous().get("/health/live").header("traceparent", odd).await.expect(200);
            let sent = answer.header("traceparent").expect("a traceparent");
            assert!(sent.starts_with("00-") && !sent.contains(trace), "{odd:?}: {sent}");
        }
    }

    async fn a_request_acts_in_one_role(database: Database) {
        let world = world(database).await;
        let both = world.club.client(Identity::role("coach").also("club_admin"));
        both.get("squads").await.expect_problem(403, "acting_role_required");
        both.get("squads").header("Acting-Role", "coach").await.expect(200);
        both.get("squads").header("Acting-Role", "operator").await.expect(403);
        both.get("squads").header("Acting-Role", "nonsense").await.expect(403);
        // The rights of two roles are never added together.
        both.post("squads", json!({ "name": "U18" })).header("Acting-Role", "coach").await.expect_problem(403, "role_may_not");
        both.get("flags").header("Acting-Role", "club_admin").await.expect_problem(403, "role_may_not");
        both.post("squads", json!({ "name": "U18" })).header("Acting-Role", "club_admin").await.expect(201);
    }

    async fn headers_that_would_change_the_request_are_ignored(database: Database) {
        let world = world(database).await;
        let answer = world.app().get("sessions")
            .header("X-HTTP-Method-Override", "DELETE")
            .header("X-Forwarded-User", "somebody")
            .header("X-Original-URL", "/v1/clubs")
            .await
            .expect(200);
        assert!(answer["items"].is_array());
    }

    async fn a91_fields_that_are_garbage_change_nothing(database: Database) {
        let world = world(database).await;
        let made = world.app().post("sessions", world.report("r-1")).await.expect(201);
        let path = format!("sessions/{}", made.string("session_id"));
        let plain = world.app().get(&path).await.expect(200);
        let many_ranges = format!("bytes={}", "0-0,".repeat(400));
        // Ranges are not served and one representation is all there is: a server may disregard both (RFC 9110, 12.5.1 and 14.2).
        for (field, values) in [
            ("Range", ["bytes=0-5", "bytes=-1", "bytes=9-1", "lines=1-2", "bytes", many_ranges.as_str()]),
            ("Accept", ["text/html", "garbage", "*/*;q=nan", "application/json;q=0", ",,;;", "é"]),
            ("If-None-Match", ["nonsense", "\"", "W/", "*", "\"1\"", "é"]),
        ] {
            for value in values {
                let answer = world.app().get(&path).header(field, value).await.expect(200);
                assert_eq!(answer.bytes, plain.bytes, "{field}: {value}");
                assert_eq!(answer.header("content-type"), plain.header("content-type"), "{field}: {value}");
                assert_eq!(answer.header("content-range"), None, "{field}: {value}");
            }
        }
        let change = || [
            world.app().patch(&path, json!({ "rpe": 5 })),
            world.app().put(&path, json!({ "rpe": 5 })),
            world.app().delete(&path),
        ];
        for garbage in ["nonsense", "\"", "\"1", "W/\"1\"", "1", ",", "\"1\"x", "é", "\"999999999999999999999\""] {
            for request in change() {
                let refused = request.if_match(garbage).await;
                let as_said = match refused.status {
                    400 => refused["code"] == "bad_header",
                    412 => refused["code"] == "precondition_failed",
                    // Its body is looked at first, and is not a report.
                    422 => refused.request.starts_with("PUT"),
                    _ => false,
                };
                assert!(as_said, "{garbage}: {} {}", refused.status, refused.text());
            }
        }
        assert_eq!(world.app().get(&path).await.expect(200).bytes, plain.bytes, "nothing was changed");
        world.server.anonymous().get("/health/ready").await.expect(200);
    }
}
