//! The weekly mail: who gets it, what it says, and how often.

use std::time::Duration;

use e2e::{Answer, Client, Club, Mail, Mailbox, Server, Setup, on_both_databases, until};
use serde_json::{Value, json};

mod alarms;
mod approval;
mod letters;
mod questions;
mod recipients;
mod settings;

/// A server that hands its mail to this mailbox.
fn setup(database: e2e::Database, mailbox: &Mailbox) -> Setup {
    Server::setup(database)
        .setting("PLIMSOLL_JOBS", "on")
        .setting("PLIMSOLL_WEBHOOK_LOOPBACK", "on")
        .setting("PLIMSOLL_SMTP_URL", &mailbox.url())
        .setting("PLIMSOLL_SMTP_FROM", "plimsoll@example.org")
        .setting("PLIMSOLL_PUBLIC_URL", "https://plimsoll.example.org")
}

/// Names a recipient.
async fn named(admin: &Client, address: &str) -> Answer {
    let body = json!({ "channel": "email", "address": address });
    admin.post("notice-endpoints", body).await.expect(201)
}

/// Names a recipient, whom the privacy lead approves.
async fn recipient(admin: &Client, address: &str) -> Answer {
    let made = named(admin, address).await;
    approve(&admin.colleague("privacy_lead"), &made)
        .await
        .expect(200);
    made
}

/// Somebody approves a recipient.
async fn approve(by: &Client, recipient: &Answer) -> Answer {
    let path = format!(
        "notice-endpoints/{}/approval",
        recipient.string("endpoint_id")
    );
    by.post(path, json!({})).if_match("*").await
}

/// Sends a notice of the kind test and gives its id.
async fn try_out(admin: &Client, recipient: &Answer) -> String {
    let path = format!("notice-endpoints/{}/test", recipient.string("endpoint_id"));
    let made = admin.post(path, json!({})).await.expect(202);
    made.string("notice_id")
}

/// The one delivery of a notice, once it is as wanted.
async fn delivery(admin: &Client, notice: &str, wanted: impl Fn(&Value) -> bool) -> Value {
    let path = format!("notices/{notice}/deliveries");
    until(async || {
        let listed = admin.get(&path).await.expect(200);
        let delivery = listed["items"][0].clone();
        if wanted(&delivery) {
            Ok(delivery)
        } else {
            Err(delivery)
        }
    })
    .await
}

/// A club whose athlete Ingrid Solheim has a spike in 2026-W45, and the report that made it.
async fn spiked(server: &Server) -> (Club, Answer) {
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("Fjordpiger").await;
    let athlete = squad
        .athlete("Ingrid Solheim")
        .with("joined_on", "2026-10-12")
        .await;
    club.bulk(athlete.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0]))
        .await
        .expect(200);
    let spike = athlete
        .session("2026-11-05T17:30:00+01:00", 288, 10.0)
        .await;
    (club, spike)
}

/// Long enough for the job to have looked twice.
async fn nothing_more(mailbox: &Mailbox, arrived: usize) {
    tokio::time::sleep(Duration::from_secs(3)).await;
    assert_eq!(mailbox.mails().len(), arrived, "{:?}", mailbox.mails());
}
