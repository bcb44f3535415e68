//! Naming endpoints: the secret is shown once, and what is disabled or gone gets nothing.

use crate::*;

on_both_databases! {
    async fn the_secret_is_shown_once(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::taking().await;
        let made = endpoint(&admin, &receiver).await;
        let secret = made.string("secret");
        assert!(secret.starts_with("whsec_") && secret.len() > 40);
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        let read = admin.get(&path).await.expect(200);
        let listed = admin.get("notice-endpoints").await.expect(200);
        for answer in [&read, &listed] {
            assert!(!answer.text().contains("secret"), "{}", answer.text());
        }
        assert_eq!(listed["items"][0], read.body);
        assert!(!server.log().contains(&secret));
    }

    async fn what_is_disabled_or_deleted_gets_nothing(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::taking().await;
        let made = endpoint(&admin, &receiver).await;
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        admin.patch(&path, json!({ "enabled": false })).await.expect_problem(428, "precondition_required");
        let off = admin.patch(&path, json!({ "enabled": false })).if_match("\"1\"").await.expect(200);
        assert_eq!((&off["enabled"], &off["disabled_why"]), (&json!(false), &json!("by_hand")));
        admin.post(format!("{path}/test"), json!({})).await.expect_problem(422, "endpoint_disabled");
        admin.patch(&path, json!({ "enabled": true })).if_match("\"2\"").await.expect(200);
        try_out(&admin, &made).await;
        receiver.wait_for(1).await;
        admin.delete(&path).if_match("*").await.expect(204);
        admin.get(&path).await.expect_problem(404, "not_found");
        admin.post(format!("{path}/test"), json!({})).await.expect_problem(404, "not_found");
        assert_eq!(receiver.messages().len(), 1);
    }

    async fn what_was_delivered_can_be_sent_again_with_the_same_id_and_bytes(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::taking().await;
        let made = endpoint(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        let first = delivery(&admin, &notice, is("delivered")).await;
        assert_eq!((&first["attempts"][0]["outcome"], &first["attempts"][0]["status"]), (&json!("accepted"), &json!(204)));

        let one = format!("deliveries/{}/redelivery", first["delivery_id"].as_str().expect("an id"));
        admin.post(one, json!({})).await.expect(202);
        delivery(&admin, &notice, |delivery| attempted(2)(delivery) && is("delivered")(delivery)).await;
        let span = json!({ "from": "2026-11-09T00:00:00Z", "to": "2026-11-10T00:00:00Z" });
        let path = format!("notice-endpoints/{}/redeliveries", made.string("endpoint_id"));
        assert_eq!(admin.post(path, span).await.expect(202)["deliveries"], 1);
        let messages = receiver.wait_for(3).await;
        for message in &messages {
            assert_eq!(message.field("webhook-id"), notice);
            assert_eq!(message.body, messages[0].body);
        }
    }
}
