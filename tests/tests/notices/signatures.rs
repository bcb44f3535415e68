//! What arrives is signed by Standard Webhooks 1.0.0: judged by the verifier that its authors publish on crates.io (those on
//! PyPI and npm judge in `tests/webhooks/run.py`). Attack A-107: wrong secret, altered body, old timestamp.

use jiff::{SignedDuration, Timestamp};
use reqwest::header::{HeaderMap, HeaderName, HeaderValue};
use standardwebhooks::Webhook;

use crate::*;

/// The verifier compares with the machine's clock, so the server's clock must show the same.
#[expect(
    clippy::disallowed_methods,
    reason = "the verifier reads the machine's clock"
)]
fn now() -> Timestamp {
    Timestamp::now()
}

fn verified(secret: &str, message: &e2e::Message, body: &str) -> bool {
    let mut fields = HeaderMap::new();
    for (name, value) in &message.fields {
        let name: HeaderName = name.parse().expect("a name");
        fields.insert(name, HeaderValue::from_str(value).expect("a value"));
    }
    let webhook = Webhook::new(secret).expect("a secret of the published form");
    webhook.verify(body.as_bytes(), &fields).is_ok()
}

on_both_databases! {
    async fn a_message_passes_the_published_verifier_and_an_altered_one_does_not(database: Database) {
        let server = setup(database).clock(&now().to_string()).start().await;
        let club = server.club("Havneby Handball").await;
        let admin = club.as_role("club_admin");
        let receiver = Receiver::taking().await;
        let made = endpoint(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        let message = receiver.wait_for(1).await.remove(0);
        let secret = made.string("secret");
        assert!(verified(&secret, &message, &message.body));
        assert!(!verified(&secret, &message, &message.body.replace("test", "tess")));
        assert!(!verified("whsec_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=", &message, &message.body));

        let event: Value = serde_json::from_str(&message.body).expect("JSON");
        assert_eq!(message.field("content-type"), "application/cloudevents+json");
        assert_eq!(message.field("webhook-id"), notice);
        assert_eq!(event["id"], notice.as_str());
        assert_eq!(event["specversion"], "1.0");
        assert_eq!(event["type"], "plimsoll.test");
        assert_eq!(event["source"], format!("/v1/clubs/{}", club.id()));
    }

    async fn an_old_message_is_refused(database: Database) {
        let past = now() - SignedDuration::from_mins(6);
        let server = setup(database).clock(&past.to_string()).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::taking().await;
        let made = endpoint(&admin, &receiver).await;
        try_out(&admin, &made).await;
        let message = receiver.wait_for(1).await.remove(0);
        assert!(!verified(&made.string("secret"), &message, &message.body));
    }

    async fn for_a_day_after_a_rotation_both_secrets_sign(database: Database) {
        let start = now();
        let mut server = setup(database).clock(&start.to_string()).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::taking().await;
        let made = endpoint(&admin, &receiver).await;
        let path = format!("notice-endpoints/{}/secret-rotation", made.string("endpoint_id"));
        let rotated = admin.post(&path, json!({})).await.expect(200);
        let (old, new) = (made.string("secret"), rotated.string("secret"));
        assert_ne!(old, new);
        try_out(&admin, &made).await;
        let message = receiver.wait_for(1).await.remove(0);
        assert!(verified(&old, &message, &message.body) && verified(&new, &message, &message.body));

        server.restart_at(&(start + SignedDuration::from_hours(25)).to_string()).await;
        let notice = try_out(&admin, &made).await;
        delivery(&admin, &notice, is("delivered")).await;
        let messages = receiver.messages();
        let message = messages.iter().find(|message| message.field("webhook-id") == notice).expect("it arrived");
        assert_eq!(message.field("webhook-signature").split(' ').count(), 1);
    }
}
