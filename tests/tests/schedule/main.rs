//! Planned sessions, whom they are expected of, attendance, and what the sources of one session do not agree on.
//!
//! It is Monday 9 November 2026, 08:00 in Copenhagen, unless a test says otherwise.

mod attendance;
mod contradictions;
mod corrections;
mod events;
mod expected;
mod reach;

pub(crate) use e2e::{Answer, Athlete, Club, Database, Identity, Server, Squad, on_both_databases};
pub(crate) use serde_json::{Value, json};

/// Thursday 5 November, 17:30.
pub(crate) const THURSDAY: &str = "2026-11-05T17:30:00+01:00";

/// A club with one squad and one athlete.
pub(crate) struct World {
    pub(crate) server: Server,
    pub(crate) club: Club,
    pub(crate) squad: Squad,
    pub(crate) athlete: Athlete,
}

pub(crate) async fn world(database: Database) -> World {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("P-07").await;
    World {
        server,
        club,
        squad,
        athlete,
    }
}

/// Codes of a field of a body, such as its warnings.
pub(crate) fn codes(body: &Value, field: &str) -> Vec<String> {
    let codes = body[field]
        .as_array()
        .unwrap_or_else(|| panic!("no {field}: {body}"));
    codes
        .iter()
        .map(|code| code.as_str().expect("a code").to_owned())
        .collect()
}

/// State and upper bound of a day.
pub(crate) async fn open(athlete: &Athlete, date: &str) -> (String, f64) {
    let day = athlete.day_figures(date).await;
    let high = day["load_bounds_au"]["high"].as_f64().expect("a bound");
    (day["state"].as_str().expect("a state").to_owned(), high)
}

/// What [`open`] gives, to compare with.
pub(crate) fn state(state: &str, high: f64) -> (String, f64) {
    (state.to_owned(), high)
}

/// What a coach finds listed of an athlete in November.
pub(crate) async fn listed(athlete: &Athlete) -> Vec<Value> {
    let coach = athlete.club().as_role("coach");
    let list = coach
        .get("contradictions")
        .query("athlete", athlete.id())
        .query("from", "2026-11-01")
        .query("to", "2026-11-30");
    list.await.expect(200)["items"]
        .as_array()
        .expect("items")
        .clone()
}
