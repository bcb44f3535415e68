//! Calendars that are fetched: another text, the same one, and everything that can go wrong.

use wiremock::matchers::{header, method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

use crate::*;

/// Reads what is due at an instant; whether everything could be read.
fn read(server: &Server, at: &str) -> bool {
    let output = server.run_with(&[("PLIMSOLL_CLOCK", at)], &["read-calendars"]);
    output.status.success()
}

fn text(body: String) -> ResponseTemplate {
    ResponseTemplate::new(200).set_body_raw(body, "text/calendar")
}

on_both_databases! {
    async fn a_feed_is_fetched_every_hour_and_only_when_it_changed(database: Database) {
        let (server, club, squad) = world(database).await;
        let app = club.as_role("integration");
        let feed = MockServer::start().await;
        let same = ResponseTemplate::new(304);
        Mock::given(method("GET")).and(path("/hall.ics")).and(header("If-None-Match", "\"1\"")).respond_with(same).expect(1).mount(&feed).await;
        let first = text(calendar(&[weekly("a", 3)])).insert_header("ETag", "\"1\"");
        Mock::given(method("GET")).and(path("/hall.ics")).respond_with(first).expect(1).mount(&feed).await;
        let body = json!({ "name": "Hall", "feed_url": format!("{}/hall.ics", feed.uri()), "rules": [practice(&squad)] });
        let made = app.post("calendars", body).await.expect(201);
        let calendar_path = format!("calendars/{}", made.string("calendar_id"));
        assert!(read(&server, "2026-11-09T08:01:00+01:00"));
        assert_eq!(statuses(&app).await, ["planned"; 3]);
        assert!(read(&server, "2026-11-09T08:30:00+01:00"), "nothing is due");
        assert!(read(&server, "2026-11-09T09:02:00+01:00"));
        let standing = app.get(&calendar_path).await.expect(200);
        assert_eq!((&standing["version"], &standing["reading"]["unchanged"], &standing["failing_since"]),
            (&json!(1), &json!(3), &Value::Null));
        feed.verify().await;
        // The next text has one practice fewer.
        feed.reset().await;
        Mock::given(method("GET")).respond_with(text(calendar(&[weekly("a", 2)]))).expect(1).mount(&feed).await;
        assert!(read(&server, "2026-11-09T10:03:00+01:00"));
        assert_eq!(statuses(&app).await, ["planned", "planned", "cancelled"]);
    }

    async fn what_cannot_be_fetched_or_read_changes_nothing_and_is_told(database: Database) {
        let (server, club, squad) = world(database).await;
        let app = club.as_role("integration");
        let feed = MockServer::start().await;
        let body = json!({ "name": "Hall", "feed_url": format!("{}/hall.ics", feed.uri()), "rules": [practice(&squad)] });
        let made = app.post("calendars", body).await.expect(201);
        let calendar_path = format!("calendars/{}", made.string("calendar_id"));
        let whole = calendar(&[weekly("a", 12)]);
        Mock::given(method("GET")).respond_with(text(whole.clone())).mount(&feed).await;
        assert!(read(&server, "2026-11-09T08:01:00+01:00"));
        let planned = statuses(&app).await;
        let half = whole[..whole.len() / 2].to_owned();
        let mut hour = 9;
        for (answer, why) in [
            (ResponseTemplate::new(500), "refused"),
            (ResponseTemplate::new(401), "refused"),
            (ResponseTemplate::new(301).insert_header("Location", "/other.ics"), "refused"),
            (ResponseTemplate::new(429).insert_header("Retry-After", "60"), "refused"),
            (text(half), "not_a_calendar"),
            (text("<html>Please sign in</html>".to_owned()), "not_a_calendar"),
            (text(calendar(&[])), "calendar_shrank"),
            (text("x".repeat(10 * 1024 * 1024 + 1)), "too_long"),
        ] {
            feed.reset().await;
            Mock::given(method("GET")).respond_with(answer).mount(&feed).await;
            hour += 1;
            assert!(!read(&server, &format!("2026-11-09T{hour}:10:00+01:00")), "{why}");
            let standing = app.get(&calendar_path).await.expect(200);
            assert_eq!((&standing["failing_why"], &standing["reading"]["created"]), (&json!(why), &json!(12)));
            assert!(standing["failing_since"].as_str().expect("an instant").starts_with("2026-11-09T09:10"), "{}", standing.text());
            assert_eq!(statuses(&app).await, planned, "{why}");
        }
        // The short text is meant, and somebody says so.
        feed.reset().await;
        Mock::given(method("GET")).respond_with(text(calendar(&[]))).mount(&feed).await;
        app.patch(&calendar_path, json!({})).query("confirm_large_removal", "true").if_match("*").await.expect(200);
        assert!(read(&server, "2026-11-09T20:00:00+01:00"));
        assert!(statuses(&app).await.iter().all(|status| status == "cancelled"));
        let nobody = json!({ "feed_url": "http://127.0.0.1:1/hall.ics" });
        app.patch(&calendar_path, nobody).if_match("*").await.expect(200);
        assert!(!read(&server, "2026-11-10T20:00:00+01:00"));
        assert_eq!(app.get(&calendar_path).await.expect(200)["failing_why"], "unreachable");
    }

    async fn an_address_that_may_not_be_called_is_not_called(database: Database) {
        let (server, club, squad) = world(database).await;
        let app = club.as_role("integration");
        let feed = MockServer::start().await;
        Mock::given(method("GET")).respond_with(text(calendar(&[]))).expect(0).mount(&feed).await;
        let body = json!({ "name": "Hall", "feed_url": format!("{}/hall.ics", feed.uri()), "rules": [practice(&squad)] });
        let made = app.post("calendars", body).await.expect(201);
        // Each fetch judges the address anew: it was allowed when it was set, and is not any more.
        let strict = [("PLIMSOLL_WEBHOOK_LOOPBACK", "off"), ("PLIMSOLL_CLOCK", "2026-11-09T08:01:00+01:00")];
        assert!(!server.run_with(&strict, &["read-calendars"]).status.success());
        let standing = app.get(format!("calendars/{}", made.string("calendar_id"))).await.expect(200);
        assert_eq!(standing["failing_why"], "blocked");
        feed.verify().await;
    }
    async fn an_inner_address_is_refused_and_never_called(database: Database) {
        let (mut server, club, squad) = world(database).await;
        let app = club.as_role("integration");
        let (feed, target) = (MockServer::start().await, Receiver::taking().await);
        let on = ResponseTemplate::new(302).insert_header("Location", target.url());
        Mock::given(method("GET")).respond_with(on).expect(1).mount(&feed).await;
        let body = json!({ "name": "Hall", "feed_url": format!("{}/hall.ics", feed.uri()), "rules": [practice(&squad)] });
        let made = app.post("calendars", body.clone()).await.expect(201);
        assert!(!read(&server, "2026-11-09T08:01:00+01:00"), "a redirect is not followed");
        feed.verify().await;
        // By a program that may not call this machine.
        server.set_and_restart(&[("PLIMSOLL_WEBHOOK_LOOPBACK", "off")]).await;
        for address in inner_addresses(&target) {
            let mut body = body.clone();
            body["feed_url"] = json!(address);
            let of_new = app.post("calendars", body).await;
            let of_old = app.patch(format!("calendars/{}", made.string("calendar_id")), json!({ "feed_url": address })).if_match("*").await;
            for refused in [of_new, of_old] {
                let refused = refused.expect_problem(422, "invalid");
                assert_eq!(refused["errors"][0]["code"], "address_not_allowed", "{address}");
                assert_eq!(refused["errors"][0]["pointer"], "/feed_url");
            }
        }
        assert_eq!(target.connections(), 0);
    }
}
