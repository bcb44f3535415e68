//! Calendars as planned sessions come from: sent and fetched, mapped, and refused for each of their faults.

use e2e::{
    Answer, Client, Club, Database, FREE_ID, Receiver, Server, Squad, inner_addresses,
    on_both_databases,
};
use serde_json::{Value, json};

mod feeds;
mod memory;
mod texts;

/// It is Monday 9 November 2026, 08:00 in Copenhagen.
pub(crate) async fn world(database: Database) -> (Server, Club, Squad) {
    let setup = Server::setup(database).setting("PLIMSOLL_WEBHOOK_LOOPBACK", "on");
    let server = setup.start().await;
    let club = server.club("Havneby Handball").await;
    let squad = club.squad("U16").await;
    (server, club, squad)
}

/// A text with these events.
pub(crate) fn calendar(events: &[String]) -> String {
    let events = events.concat();
    format!(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Havneby//Hall//EN\r\n{events}END:VCALENDAR\r\n"
    )
}

/// A practice of 90 minutes each Tuesday from 10 November on, so many times.
pub(crate) fn weekly(uid: &str, times: u32) -> String {
    event(
        uid,
        &format!(
            "DTSTART;TZID=Europe/Copenhagen:20261110T173000\r\nDURATION:PT90M\r\nRRULE:FREQ=WEEKLY;COUNT={times}\r\n"
        ),
    )
}

/// An event that says this about its time.
pub(crate) fn event(uid: &str, time: &str) -> String {
    format!(
        "BEGIN:VEVENT\r\nUID:{uid}\r\nDTSTAMP:20260901T080000Z\r\n{time}SUMMARY:U16 practice\r\nEND:VEVENT\r\n"
    )
}

/// What every practice stands for.
pub(crate) fn practice(squad: &Squad) -> Value {
    json!({ "text_contains": "practice", "setting": "club", "kind": "practice", "squads": [squad.id()], "intended_rpe": 6 })
}

/// Sets up a calendar with one rule and sends its first text.
pub(crate) async fn sent(app: &Client, squad: &Squad, text: String) -> Answer {
    let body = json!({ "name": "Hall", "rules": [practice(squad)] });
    let made = app.post("calendars", body).await.expect(201);
    let path = format!("calendars/{}", made.string("calendar_id"));
    put(app, &path, text)
        .if_match(made.etag())
        .await
        .expect(200)
}

pub(crate) fn put(app: &Client, path: &str, text: String) -> e2e::Request {
    app.put(path, Value::Null).body("text/calendar", text)
}

/// The status of each event of November and December.
pub(crate) async fn statuses(app: &Client) -> Vec<String> {
    let listed = app
        .get("events")
        .query("from", "2026-11-01")
        .query("to", "2026-12-31");
    let listed = listed.await.expect(200);
    let events = listed["items"].as_array().expect("events").iter();
    events
        .map(|event| event["status"].as_str().expect("a status").to_owned())
        .collect()
}
