//! Notices as signed webhooks: what arrives, how often, and what is never called.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use e2e::{
    Answer, Answering, Authority, Client, Receiver, Server, Setup, inner_addresses, many,
    on_both_databases, until,
};
use serde_json::{Value, json};

mod certificates;
mod confirmation;
mod corrections;
mod crash;
mod endpoints;
mod faults;
mod guard;
mod names;
mod questions;
mod signatures;
mod weeks;

/// A server that may call this machine.
fn setup(database: e2e::Database) -> Setup {
    Server::setup(database)
        .setting("PLIMSOLL_JOBS", "on")
        .setting("PLIMSOLL_WEBHOOK_LOOPBACK", "on")
}

/// Names an endpoint at the receiver.
async fn named(admin: &Client, receiver: &Receiver) -> Answer {
    let body = json!({ "url": receiver.url() });
    admin.post("notice-endpoints", body).await.expect(201)
}

/// Names an endpoint at the receiver, which confirms it.
async fn endpoint(admin: &Client, receiver: &Receiver) -> Answer {
    let made = named(admin, receiver).await;
    once(admin, &made, |endpoint| {
        endpoint["confirmed_at"].is_string()
    })
    .await;
    made
}

/// An endpoint, once it is as wanted.
async fn once(admin: &Client, endpoint: &Answer, wanted: impl Fn(&Value) -> bool) -> Value {
    let path = format!("notice-endpoints/{}", endpoint.string("endpoint_id"));
    until(async || {
        let read = admin.get(&path).await.expect(200).body;
        if wanted(&read) { Ok(read) } else { Err(read) }
    })
    .await
}

/// The notice that asks an endpoint for its echo.
async fn challenge(admin: &Client, endpoint: &Answer) -> String {
    let read = once(admin, endpoint, |_| true).await;
    let notice = read["challenge_notice_id"].as_str();
    notice.expect("a webhook that was asked").to_owned()
}

/// Sends a notice of the kind test to an endpoint and gives its id.
async fn try_out(admin: &Client, endpoint: &Answer) -> String {
    let path = format!("notice-endpoints/{}/test", endpoint.string("endpoint_id"));
    let made = admin.post(path, json!({})).await.expect(202);
    made.string("notice_id")
}

/// The one delivery of a notice, once its state is this.
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

fn is(state: &'static str) -> impl Fn(&Value) -> bool {
    move |delivery| delivery["state"] == state
}

fn attempted(times: usize) -> impl Fn(&Value) -> bool {
    move |delivery| delivery["attempts"].as_array().map(Vec::len) >= Some(times)
}
