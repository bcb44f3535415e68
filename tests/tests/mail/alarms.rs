//! An endpoint that fails for long (T-26): shown after a day, disabled after five, and those who are written to are told so.

use e2e::{Answering, Receiver};

use crate::*;

/// Names a webhook at the receiver, which confirms it.
async fn webhook(admin: &Client, receiver: &Receiver) -> Answer {
    let made = admin
        .post("notice-endpoints", json!({ "url": receiver.url() }))
        .await
        .expect(201);
    let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
    until(async || {
        let read = admin.get(&path).await.expect(200);
        if read["confirmed_at"].is_null() {
            Err(read)
        } else {
            Ok(())
        }
    })
    .await;
    made
}

/// What the service says of endpoints that take nothing, in its health and in its metrics.
async fn alarm(server: &Server) -> (Option<String>, String) {
    let ready = server.anonymous().get("/health/ready").await.expect(200);
    let because = ready["because"].as_array().expect("a list");
    let cause = because
        .iter()
        .find(|cause| cause["source"] == "notice endpoints");
    let metrics = server.anonymous().get("/metrics").await.expect(200).text();
    let failing = metrics
        .lines()
        .find_map(|line| line.strip_prefix("plimsoll_notice_endpoints_failing "));
    (
        cause.map(|cause| cause["detail"].as_str().expect("words").to_owned()),
        failing.expect("it is counted").to_owned(),
    )
}

/// Restarts at an instant and waits until the notice was tried once more.
async fn tried_again_at(server: &mut Server, instant: &str, admin: &Client, notice: &str) {
    let attempts = |one: &Value| one["attempts"].as_array().map(Vec::len);
    let before = attempts(&delivery(admin, notice, |_| true).await);
    server.restart_at(instant).await;
    delivery(admin, notice, |one| attempts(one) > before).await;
}

/// The notices of endpoints that were disabled.
async fn told(admin: &Client) -> usize {
    let listed = admin.get("notices").await.expect(200);
    let notices = listed["items"].as_array().expect("a list");
    notices
        .iter()
        .filter(|notice| notice["kind"] == "endpoint_disabled")
        .count()
}

on_both_databases! {
    async fn an_endpoint_that_fails_is_shown_after_a_day_and_disabled_after_five(database: Database) {
        let mailbox = Mailbox::start().await;
        let mut server = setup(database, &mailbox).start().await;
        let club = server.club("Havneby Handball").await;
        let admin = club.as_role("club_admin");
        recipient(&admin, "coach@havneby.example").await;
        let receiver = Receiver::start(|_| Answering::Head("500 Internal Server Error\r\n")).await;
        let made = webhook(&admin, &receiver).await;
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        let notice = try_out(&admin, &made).await;
        delivery(&admin, &notice, |one| one["attempts"][0]["status"] == 500).await;
        assert_eq!(alarm(&server).await, (None, "0".to_owned()));

        tried_again_at(&mut server, "2026-11-10T07:00:00+01:00", &admin, &notice).await;
        assert_eq!(alarm(&server).await, (None, "0".to_owned()), "within a day");
        tried_again_at(&mut server, "2026-11-10T09:00:00+01:00", &admin, &notice).await;
        let shown = (Some("1 have taken nothing for a day or more".to_owned()), "1".to_owned());
        assert_eq!(alarm(&server).await, shown);
        assert!(admin.get(&path).await.expect(200)["enabled"].as_bool().expect("a flag"));
        assert_eq!((told(&admin).await, mailbox.mails().len()), (0, 0));

        tried_again_at(&mut server, "2026-11-14T09:00:00+01:00", &admin, &notice).await;
        let read = admin.get(&path).await.expect(200);
        assert_eq!((&read["enabled"], &read["disabled_why"]), (&json!(false), &json!("failed_for_5_days")));
        assert_eq!(delivery(&admin, &notice, |_| true).await["state"], "failed");
        assert_eq!(alarm(&server).await, shown, "as long as nobody has looked after it");
        let mail = mailbox.wait_for(1).await.remove(0);
        assert_eq!(mail.field("Subject"), "A webhook of Havneby Handball was disabled");
        let text = mail.text();
        let said = format!("the webhook {} has taken nothing for five days", made.string("endpoint_id"));
        assert!(text.contains(&said), "{text}");
        assert!(!text.contains("127.0.0.1"), "a URL may hold a token: {text}");
        nothing_more(&mailbox, 1).await;
        assert_eq!(told(&admin).await, 1);

        admin.patch(&path, json!({ "enabled": true })).if_match("*").await.expect(200);
        assert_eq!(alarm(&server).await, (None, "0".to_owned()));
        admin.patch(&path, json!({ "enabled": false })).if_match("*").await.expect(200);
        assert_eq!(told(&admin).await, 1, "who disables one by hand knows");
    }

    async fn one_that_is_gone_is_told_to_the_other_recipients(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        recipient(&admin, "coach@havneby.example").await;
        let receiver = Receiver::start(|_| Answering::Head("410 Gone\r\n")).await;
        let made = webhook(&admin, &receiver).await;
        try_out(&admin, &made).await;
        let mail = mailbox.wait_for(1).await.remove(0);
        assert!(mail.text().contains("answered that nobody is there any more"), "{}", mail.text());
        nothing_more(&mailbox, 1).await;
        assert_eq!(told(&admin).await, 1);
    }
}
