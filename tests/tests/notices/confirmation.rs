//! Ownership: nothing but a challenge goes to a webhook that has not echoed it, and nothing that was told meanwhile is lost.

use crate::*;

/// Answers the first challenges so, and echoes the others.
async fn late(first: Vec<Answering>) -> Receiver {
    let echo =
        |challenge: &str| Answering::Body("200 OK", json!({ "challenge": challenge }).to_string());
    Receiver::asked(
        move |number, challenge| match first.get(number) {
            Some(answer) => answer.clone(),
            None => echo(challenge),
        },
        |_| Answering::Head("204 No Content\r\n"),
    )
    .await
}

/// Asks again at once.
async fn ask_again(admin: &Client, endpoint: &Answer) -> Answer {
    let path = format!(
        "notice-endpoints/{}/confirmation",
        endpoint.string("endpoint_id")
    );
    admin.post(path, json!({})).await
}

on_both_databases! {
    async fn nothing_but_its_challenge_goes_to_a_webhook_that_has_not_echoed_it(database: Database) {
        let server = setup(database).start().await;
        let club = server.club("Havneby Handball").await;
        let admin = club.as_role("club_admin");
        let other = json!({ "challenge": "something else" }).to_string();
        let receiver = late(vec![
            Answering::Head("204 No Content\r\n"),
            Answering::Body("200 OK", other),
        ]).await;
        let made = named(&admin, &receiver).await;
        assert_eq!(made["waiting_for"], "confirmation");
        let asked = challenge(&admin, &made).await;
        let fared = delivery(&admin, &asked, attempted(1)).await;
        assert_eq!((&fared["state"], &fared["attempts"][0]["outcome"], &fared["attempts"][0]["status"]), (&json!("pending"), &json!("not_echoed"), &json!(204)));
        let read = once(&admin, &made, |_| true).await;
        assert_eq!((&read["confirmed_at"], &read["waiting_for"], &read["enabled"]), (&Value::Null, &json!("confirmation"), &json!(true)));
        assert!(read["failing_since"].is_string());

        let path = format!("notice-endpoints/{}/test", made.string("endpoint_id"));
        let told = admin.post(path, json!({})).await.expect(202);
        assert_eq!(told["waiting_for"], "confirmation");
        let notice = told.string("notice_id");
        let waiting = delivery(&admin, &notice, is("pending")).await;
        assert_eq!((&waiting["waiting_for"], &waiting["attempts"]), (&json!("confirmation"), &json!([])));
        // Sent again by hand, alone or in a span, it waits all the same.
        let one = format!("deliveries/{}/redelivery", waiting["delivery_id"].as_str().expect("an id"));
        admin.post(one, json!({})).await.expect(202);
        let span = json!({ "from": "2026-11-09T00:00:00Z", "to": "2026-11-10T00:00:00Z" });
        let path = format!("notice-endpoints/{}/redeliveries", made.string("endpoint_id"));
        assert_eq!(admin.post(path, span).await.expect(202)["deliveries"], 1, "the challenge is not counted");

        // By the timetable: 5 s later another answer without the echo; then, asked by hand, the echo.
        let fared = delivery(&admin, &asked, attempted(2)).await;
        assert_eq!(fared["attempts"][1]["outcome"], "not_echoed");
        assert_eq!((receiver.challenges().len(), receiver.messages()), (2, vec![]));
        let again = ask_again(&admin, &made).await.expect(202);
        assert_eq!(again["challenge_notice_id"], asked.as_str());
        let read = once(&admin, &made, |endpoint| endpoint["confirmed_at"].is_string()).await;
        assert_eq!((&read["waiting_for"], &read["failing_since"], &read["version"]), (&Value::Null, &Value::Null, &json!(1)));
        delivery(&admin, &notice, is("delivered")).await;
        assert_eq!(receiver.messages()[0].field("webhook-id"), notice);

        let challenges = receiver.challenges();
        for sent in &challenges {
            assert_eq!((&sent.body, sent.field("webhook-id")), (&challenges[0].body, asked.as_str()));
            assert!(sent.field("webhook-signature").starts_with("v1,"));
        }
        let event: Value = serde_json::from_str(&challenges[0].body).expect("JSON");
        assert_eq!((&event["type"], &event["data"]["endpoint_id"]), (&json!("plimsoll.challenge"), &json!(made.string("endpoint_id"))));
        assert!(event["data"]["challenge"].as_str().is_some_and(|text| text.len() == 43));
        // Confirmed is confirmed: nobody is asked again.
        assert_eq!(ask_again(&admin, &made).await.expect(200)["confirmed_at"], read["confirmed_at"]);
        assert_eq!(receiver.challenges().len(), 3);
    }

    async fn what_is_told_meanwhile_waits_as_long_as_any_message_and_is_listed_as_given_up(database: Database) {
        let mut server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = late(vec![Answering::Head("204 No Content\r\n"); 40]).await;
        let made = named(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        server.restart_at("2026-11-12T11:00:00+01:00").await;
        delivery(&admin, &notice, is("pending")).await;
        server.restart_at("2026-11-12T12:00:00+01:00").await;
        let over = delivery(&admin, &notice, is("failed")).await;
        assert_eq!((&over["waiting_for"], &over["attempts"]), (&json!("confirmation"), &json!([])));
        assert_eq!(receiver.messages(), vec![]);
    }

    async fn another_url_has_to_be_confirmed_again_and_gets_what_is_pending_then(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let first = Receiver::taking().await;
        let second = late(vec![Answering::Head("500 Internal Server Error\r\n")]).await;
        let made = endpoint(&admin, &first).await;
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        let asked = challenge(&admin, &made).await;
        // The same content asks nobody, nor do other squads.
        admin.patch(&path, json!({ "url": first.url() })).if_match("*").await.expect(200);
        let moved = admin.patch(&path, json!({ "url": second.url() })).if_match("*").await.expect(200);
        assert_eq!((&moved["confirmed_at"], &moved["waiting_for"]), (&Value::Null, &json!("confirmation")));
        assert_ne!(moved["challenge_notice_id"], asked.as_str());
        let notice = try_out(&admin, &made).await;
        once(&admin, &made, |endpoint| endpoint["confirmed_at"].is_string()).await;
        delivery(&admin, &notice, is("delivered")).await;
        assert_eq!((first.messages().len(), first.challenges().len()), (0, 1));
        assert_eq!((second.messages().len(), second.challenges().len()), (1, 2));

        // Disabled and enabled while it is not confirmed: it is asked anew.
        let third = late(vec![Answering::Never]).await;
        admin.patch(&path, json!({ "url": third.url(), "enabled": false })).if_match("*").await.expect(200);
        ask_again(&admin, &made).await.expect_problem(422, "endpoint_disabled");
        assert_eq!(third.connections(), 0);
        admin.patch(&path, json!({ "enabled": true })).if_match("*").await.expect(200);
        until(async || match third.challenges().len() {
            1 => Ok(()),
            other => Err(other),
        }).await;
    }

    async fn an_endpoint_can_be_put_under_an_id_of_the_callers(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let (one, two) = (Receiver::taking().await, Receiver::taking().await);
        let path = format!("notice-endpoints/{}", e2e::FREE_ID);
        let body = |receiver: &Receiver| json!({ "url": receiver.url() });
        admin.put(&path, body(&one)).if_match("*").await.expect_problem(412, "precondition_failed");
        let made = admin.put(&path, body(&one)).await.expect(201);
        assert_eq!((made.string("endpoint_id").as_str(), &made["version"]), (e2e::FREE_ID, &json!(1)));
        assert!(made.string("secret").starts_with("whsec_"));
        assert!(made.header("location").is_some_and(|place| place.ends_with(&path)));
        once(&admin, &made, |endpoint| endpoint["confirmed_at"].is_string()).await;

        // What is left out is said as well: channel webhook, enabled.
        let spelt = json!({ "channel": "webhook", "url": one.url(), "squads": [], "questions": false, "enabled": true });
        for same in [body(&one), spelt] {
            let again = admin.put(&path, same).await.expect(200);
            assert_eq!((&again["version"], again.etag()), (&json!(1), "\"1\""));
            assert!(again["confirmed_at"].is_string() && !again.text().contains("whsec_"));
        }
        admin.put(&path, body(&two)).await.expect_problem(428, "precondition_required");
        admin.put(&path, body(&two)).if_match("\"7\"").await.expect_problem(412, "precondition_failed");
        let moved = admin.put(&path, body(&two)).if_match("\"1\"").await.expect(200);
        assert_eq!((&moved["version"], &moved["confirmed_at"]), (&json!(2), &Value::Null));
        once(&admin, &made, |endpoint| endpoint["confirmed_at"].is_string()).await;
        assert_eq!((one.challenges().len(), two.challenges().len()), (1, 1));
        admin.delete(&path).if_match("*").await.expect(204);
        admin.put(&path, body(&one)).await.expect_problem(409, "conflict");
    }
}
