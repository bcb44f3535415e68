//! Nothing that was answered with success is lost, and nothing is stored twice: through crashes, a full disk, a database
//! that is away, and many callers at once. Every case counts what was lost and what was doubled, and both are 0.

mod crash;
mod disk_full;
mod histories;
mod jobs;
mod keys;
mod ledger;
mod load;
mod neighbours;
mod postgres_crash;
mod waits;
mod writer;

use std::time::Duration;

pub(crate) use e2e::{
    Answer, Athlete, Client, Club, Database, Identity, Postgres, Request, Server, SmallDisk,
    left_out, many, on_both_databases,
};
pub(crate) use rand::{RngExt, SeedableRng};
pub(crate) use rand_chacha::ChaCha20Rng;
pub(crate) use serde_json::{Value, json};

/// A club with so many athletes, who train in one squad.
pub(crate) async fn club_of(server: &Server, athletes: usize) -> (Club, Vec<Athlete>) {
    let club = server.club("Havneby Handball").await;
    let squad = club.squad("U16").await;
    let mut members = Vec::new();
    for number in 1..=athletes {
        members.push(squad.athlete(&format!("P-{number:02}")).await);
    }
    (club, members)
}

/// Every item of a list, page by page.
pub(crate) async fn all_items(client: &Client, path: &str) -> Vec<Value> {
    let mut items = Vec::new();
    let mut after = None;
    loop {
        let mut page = client.get(path).query("limit", 500);
        if let Some(after) = &after {
            page = page.query("after", after);
        }
        let page = page.await.expect(200);
        items.extend(page["items"].as_array().expect("items").iter().cloned());
        match page["next"].as_str() {
            Some(next) => after = Some(next.to_owned()),
            None => return items,
        }
    }
}

/// A moment between two tries of something that will come.
pub(crate) async fn moment() {
    tokio::time::sleep(Duration::from_millis(10)).await;
}
