//! The acceptance scenarios of an invented handball club over HTTP: Club A with its girls' squads, home zone
//! Europe/Copenhagen, the example policy. Figures were computed by hand with exact fractions from the definitions
//! of the metrics; they are compared to the digits printed here.

mod half_year;
mod planned;
mod s01_one_week;
mod s02_ratios;
mod s03_hidden_load;
mod s04_unlogged;
mod s05_missing_figures;
mod s06_clock_and_calendar;
mod s07_three_sources;
mod s08_amendment;
mod s08_correction;
mod s09_margin;
mod s10_half_year;
mod s10_week_ahead;
mod s11_smallest_change;
mod s12_hours;
mod s13_neuromuscular_dose;
mod s14_landing_contacts;
mod s15_joiner;
mod s16_history;
mod s16_return;
mod s17_symmetry;
mod s18_ratings;
mod s18_weekly_list;
mod s19_small_groups;
mod s19_two_clubs;
mod s20_bulk;
mod s20_calendar;

pub(crate) use e2e::{
    Athlete, Client, Club, Database, Identity, Server, Squad, assert_exact, assert_no_monotony,
    assert_none, assert_plots, assert_printed, assert_same_list, example_rules, on_both_databases,
};
pub(crate) use serde_json::{Value, json};

/// Club A with one squad, its clock started at this instant.
pub(crate) async fn club_with_squad(
    database: Database,
    now: &str,
    squad: &str,
) -> (Server, Club, Squad) {
    let server = Server::setup(database).clock(now).start().await;
    let club = server.club("Havneby Handball").await;
    let squad = club.squad(squad).await;
    (server, club, squad)
}

/// Sends rows in bulk and expects every one of them to be stored.
pub(crate) async fn store(club: &Club, rows: Vec<Value>) {
    let sent = rows.len();
    let answer = club.bulk(rows).await.expect(200);
    assert_eq!(answer["accepted"], sent, "{}", answer.text());
}

/// A field of every entry of a list.
pub(crate) fn each<'a>(entries: &'a Value, field: &str) -> Vec<&'a str> {
    let entries = entries.as_array().expect("a list");
    entries
        .iter()
        .map(|entry| entry[field].as_str().unwrap_or("null"))
        .collect()
}
