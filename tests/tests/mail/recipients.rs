//! Naming recipients: one address each, once, and only where the service sends mail.

use crate::*;

on_both_databases! {
    async fn a_recipient_is_one_address(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        // lists, names, header fields, control characters.
        let wrong = [
            "a@havneby.example,b@havneby.example",
            "a@havneby.example; b@havneby.example",
            "Coach <a@havneby.example>",
            "a@havneby.example\r\nBcc: all@havneby.example",
            "a@havneby.example\n",
            "\"a, b\"@havneby.example",
            "a@havneby",
            "a@[127.0.0.1]",
            "havneby.example",
            "",
        ];
        for address in wrong {
            let body = json!({ "channel": "email", "address": address });
            let refused = admin.post("notice-endpoints", body).await.expect_problem(422, "invalid");
            assert_eq!(refused["errors"][0]["code"], "invalid_address", "{address:?}");
            assert_eq!(refused["errors"][0]["pointer"], "/address");
            let body = json!({ "reply_to": address });
            let refused = admin.put("mail-settings", body).await.expect_problem(422, "invalid");
            assert_eq!(refused["errors"][0]["pointer"], "/reply_to");
        }
        for (body, pointer, code) in [
            (json!({ "channel": "email" }), "/address", "missing_field"),
            (json!({ "channel": "fax", "address": "a@havneby.example" }), "/channel", "unknown_value"),
            (json!({ "channel": "email", "address": "a@havneby.example", "url": "https://a.example/" }), "/url", "unknown_value"),
            (json!({ "address": "a@havneby.example" }), "/address", "unknown_value"),
        ] {
            let refused = admin.post("notice-endpoints", body).await.expect_problem(422, "invalid");
            assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!(pointer), &json!(code)));
        }
        assert_eq!(mailbox.mails(), []);
    }

    async fn a_recipient_is_named_once_and_has_no_secret(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let made = recipient(&admin, "coach@havneby.example").await;
        assert_eq!(made["secret"], Value::Null);
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        let read = admin.get(&path).await.expect(200);
        assert_eq!((&read["channel"], &read["address"], &read["url"]), (&json!("email"), &json!("coach@havneby.example"), &Value::Null));
        let again = json!({ "channel": "email", "address": "Coach@Havneby.example" });
        let refused = admin.post("notice-endpoints", again.clone()).await.expect_problem(422, "invalid");
        assert_eq!(refused["errors"][0]["code"], "not_unique");
        admin.post(format!("{path}/secret-rotation"), json!({})).await.expect_problem(422, "channel_fixed");
        let other = admin.patch(&path, json!({ "channel": "webhook", "address": null, "url": "https://a.example/" }));
        let refused = other.if_match("*").await.expect_problem(422, "invalid");
        assert_eq!(refused["errors"][0]["code"], "channel_fixed");
        admin.delete(&path).if_match("*").await.expect(204);
        admin.post("notice-endpoints", again).await.expect(201);
    }

    async fn without_a_mail_server_nobody_is_named(database: Database) {
        let mailbox = Mailbox::start().await;
        let mut server = setup(database, &mailbox).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let made = recipient(&admin, "coach@havneby.example").await;
        server.set_and_restart(&[("PLIMSOLL_SMTP_URL", "")]).await;
        let body = json!({ "channel": "email", "address": "other@havneby.example" });
        let refused = admin.post("notice-endpoints", body).await.expect_problem(422, "invalid");
        assert_eq!(refused["errors"][0]["code"], "mail_not_set_up");
        let detail = refused["errors"][0]["detail"].as_str().expect("text");
        assert!(detail.ends_with("has not set: smtp_url."), "{detail}");
        // Whoever is named waits, and that is seen.
        let notice = try_out(&admin, &made).await;
        let waiting = delivery(&admin, &notice, |one| one["waiting_for"] == "mail_server").await;
        assert_eq!((&waiting["state"], &waiting["attempts"][0]["outcome"]), (&json!("pending"), &json!("not_sent")));
        let health = server.anonymous().get("/health/ready").await.expect(200);
        assert_eq!(health["because"][0]["source"], "mail");
    }
}
