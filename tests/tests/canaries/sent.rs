//! What is sent out is in no log: neither where to nor what it is signed with.

use e2e::{Mailbox, Receiver, until};

use crate::plants::{ADDRESS, HOOK};
use crate::*;

/// Names an endpoint and sends it a trial once it may be sent to.
async fn tried(admin: &Client, body: Value) -> Answer {
    let made = admin.post("notice-endpoints", body).await.expect(201);
    let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
    let approval = admin
        .colleague("privacy_lead")
        .post(format!("{path}/approval"), json!({}));
    // A webhook needs none, and says so.
    approval.if_match("*").await;
    until(async || {
        let read = admin.get(&path).await.expect(200);
        if read["confirmed_at"].is_string() {
            Ok(())
        } else {
            Err(read)
        }
    })
    .await;
    let test = admin.post(format!("{path}/test"), json!({}));
    test.await.expect(202);
    made
}

on_both_databases! {
    async fn where_something_is_sent_is_not_logged(database: Database) {
        let (receiver, mailbox) = (Receiver::taking().await, Mailbox::start().await);
        let server = Server::setup(database)
            .setting("PLIMSOLL_LOG", "trace")
            .setting("PLIMSOLL_JOBS", "on")
            .setting("PLIMSOLL_WEBHOOK_LOOPBACK", "on")
            .setting("PLIMSOLL_SMTP_URL", &mailbox.url());
        let server = server.start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let hook = json!({ "url": format!("{}/{HOOK}?{HOOK}", receiver.url()) });
        let hook = tried(&admin, hook).await;
        tried(&admin, json!({ "channel": "email", "address": ADDRESS })).await;
        assert_eq!(receiver.wait_for(1).await.len(), 1);
        assert!(mailbox.wait_for(1).await[0].text().contains(ADDRESS));

        let said = Said::by(&server, &[]).await;
        println!("{database:?}: {said}");
        assert!(said.counts("\"request\"") > 5);
        for canary in [ADDRESS, HOOK, &hook.string("secret")] {
            assert_eq!(said.places_of(canary), Vec::<String>::new());
        }
    }
}
