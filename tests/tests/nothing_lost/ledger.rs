//! What was answered against what is stored.

use std::collections::BTreeMap;

use crate::writer::{Stored, Writer};
use crate::*;

/// Dates of the writers' reports.
const DAYS: [&str; 2] = ["2026-11-01", "2026-11-08"];

/// How much was compared, for the record.
#[derive(Default)]
pub(crate) struct Compared {
    pub(crate) writes: usize,
    pub(crate) reports: usize,
}

/// Asserts that a club holds exactly what its writers were answered, and that its day totals are those of its reports.
pub(crate) async fn assert_nothing_lost(club: &Club, writers: &[Writer]) -> Compared {
    let mut listed: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    for item in all_items(&club.as_role("integration"), "sessions").await {
        let id = item["external_id"]
            .as_str()
            .expect("each has one")
            .to_owned();
        listed.entry(id).or_default().push(item);
    }
    let expected: BTreeMap<_, _> = writers.iter().flat_map(|writer| &writer.stored).collect();
    let lost: Vec<_> = expected
        .iter()
        .filter(|(id, stored)| {
            let items = listed.get(id.as_str());
            !items.is_some_and(|items| items.iter().any(|item| is(item, stored)))
        })
        .collect();
    let doubled: Vec<_> = listed
        .iter()
        .filter(|(id, items)| items.len() > 1 || !expected.contains_key(id))
        .collect();
    let what = format!("lost {lost:#?}, doubled or never answered {doubled:#?}");
    assert_eq!((lost.len(), doubled.len()), (0, 0), "{what}");
    for writer in writers {
        assert_totals(&writer.athlete, &listed).await;
    }
    Compared {
        writes: writers.iter().map(Writer::answers).sum(),
        reports: listed.len(),
    }
}

fn is(item: &Value, stored: &Stored) -> bool {
    item["session_id"] == stored.session_id.as_str()
        && item["version"] == stored.version
        && item["minutes"] == stored.minutes
        && item["rpe"] == stored.rpe
}

/// The loads of the days come from totals that are kept with each write. They must equal the sums over the reports, and what
/// the service itself rebuilds from the reports when it is asked for a state of knowledge.
async fn assert_totals(athlete: &Athlete, listed: &BTreeMap<String, Vec<Value>>) {
    let mut sums: BTreeMap<&str, f64> = BTreeMap::new();
    for item in listed.values().flatten() {
        if item["athlete_id"] == athlete.id() {
            let load = item["rpe"].as_f64().expect("a rating")
                * item["minutes"].as_f64().expect("minutes");
            *sums
                .entry(item["load_date"].as_str().expect("a date"))
                .or_default() += load;
        }
    }
    let kept = athlete.load(DAYS[0], DAYS[1]).await;
    for day in kept["days"].as_array().expect("days") {
        let sum = sums
            .get(day["date"].as_str().expect("a date"))
            .copied()
            .unwrap_or(0.0);
        assert_eq!(day["load_au"].as_f64().unwrap_or(0.0), sum, "{day:#}");
    }
    let rebuilt = athlete
        .club()
        .as_role("coach")
        .get(format!("athletes/{}/load", athlete.id()))
        .query("from", DAYS[0])
        .query("to", DAYS[1])
        .query("as_of", kept.string("as_of"))
        .await
        .expect(200);
    assert_eq!(
        rebuilt["days"], kept["days"],
        "kept totals differ from rebuilt ones"
    );
}
