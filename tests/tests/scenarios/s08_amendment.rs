//! S08: what an amendment of one day reaches, and that nothing else moves by a byte (P-15, U18). The game of Saturday 12 September is
//! corrected from 9 to 6 after all the days it can reach are over; the flag and what was known when are tested beside the flags.

use std::collections::BTreeSet;

use crate::*;

const GAME: &str = "2026-09-12";

/// Weeks from 17 August to 18 October with load on every day, so that every figure of the later days exists.
fn season(athlete: &Athlete) -> Vec<Value> {
    let week = |total: f64| {
        let day = total / 10.0;
        [day, 2.0 * day, 0.0, 3.0 * day, day, 3.0 * day, 0.0]
    };
    let weeks = [
        1400.0, 1450.0, 1500.0, 1980.0, 1500.0, 1600.0, 1450.0, 1550.0, 1500.0,
    ];
    let days: Vec<f64> = weeks.into_iter().flat_map(week).collect();
    athlete.days("2026-08-17", &days)
}

/// Where two lists of days or weeks differ: field by field, on which of them.
fn differing(before: &Value, after: &Value, name: &str) -> Vec<(String, BTreeSet<String>)> {
    let (before, after) = (
        before.as_array().expect("a list"),
        after.as_array().expect("a list"),
    );
    assert_eq!(before.len(), after.len());
    let mut found: Vec<(String, BTreeSet<String>)> = Vec::new();
    for (one, other) in before.iter().zip(after) {
        for (field, value) in one.as_object().expect("an object") {
            if *value == other[field] {
                continue;
            }
            let at = one[name].as_str().expect("a name").to_owned();
            match found.iter_mut().find(|(known, _)| known == field) {
                Some((_, places)) => drop(places.insert(at)),
                None => found.push((field.clone(), BTreeSet::from([at]))),
            }
        }
    }
    found
}

/// The first and the last of the places, and how many.
fn span(places: &BTreeSet<String>) -> (&str, &str, usize) {
    (
        places.first().expect("one"),
        places.last().expect("one"),
        places.len(),
    )
}

#[track_caller]
fn assert_reach(found: &[(String, BTreeSet<String>)], expected: &[(&str, &str, &str, usize)]) {
    let mut found: Vec<_> = found
        .iter()
        .map(|(field, places)| {
            let (first, last, number) = span(places);
            (field.as_str(), first, last, number)
        })
        .collect();
    found.sort_unstable();
    let mut expected = expected.to_vec();
    expected.sort_unstable();
    assert_eq!(found, expected);
}

on_both_databases! {
    async fn s08_an_amendment_reaches_its_dates_and_no_others(database: Database) {
        let (server, club, u18) = club_with_squad(database, "2026-10-19T07:00:00+02:00", "U18").await;
        club.example_policy().await;
        let athlete = u18.athlete("P-15").with("joined_on", "2026-08-17").await;
        let other = u18.athlete("P-16").with("joined_on", "2026-08-17").await;
        store(&club, season(&athlete)).await;
        store(&club, season(&other)).await;
        let game = athlete.session("2026-09-12T17:00:00+02:00", 80, 9.0).with("kind", "game").await;
        for week in 37..=42 {
            server.close_week(&format!("2026-W{week}"));
        }
        let coach = club.as_role("coach");
        let weeks = |athlete: &Athlete| coach.get(format!("athletes/{}/weeks?from=2026-W34&to=2026-W42", athlete.id()));
        let days = || athlete.load("2026-08-17", "2026-10-18");
        let (days_before, weeks_before) = (days().await, weeks(&athlete).await.expect(200));
        let other_before = (other.load("2026-08-17", "2026-10-18").await, weeks(&other).await.expect(200));

        let path = format!("sessions/{}", game.string("session_id"));
        let correction = json!({ "rpe": 6, "reason": "typed 9 for 6" });
        club.as_role("integration").patch(&path, correction).if_match(game.etag()).await.expect(200);

        let (days_after, weeks_after) = (days().await, weeks(&athlete).await.expect(200));
        let end = "2026-10-18";
        assert_reach(&differing(&days_before["days"], &days_after["days"], "date"), &[
            ("load_au", GAME, GAME, 1),
            ("load_bounds_au", GAME, GAME, 1),
            ("acute_7d_au", GAME, "2026-09-18", 7),
            ("monotony", GAME, "2026-09-18", 7),
            ("strain_au", GAME, "2026-09-18", 7),
            // The week that ends with a date against the one before: 14 dates.
            ("change_from_previous_7d", GAME, "2026-09-25", 14),
            ("prior_21d_au", "2026-09-19", "2026-10-09", 21),
            // From the 28th day of membership on, which is 13 September.
            ("chronic_week_au", "2026-09-13", "2026-10-09", 27),
            ("ratio_coupled", "2026-09-13", "2026-10-09", 27),
            ("ratio_uncoupled", "2026-09-13", "2026-10-09", 27),
            ("ewma", "2026-09-13", end, 36),
        ]);
        assert_reach(&differing(&weeks_before["weeks"], &weeks_after["weeks"], "week"), &[
            ("load_au", "2026-W37", "2026-W37", 1),
            ("by_setting", "2026-W37", "2026-W37", 1),
            ("monotony", "2026-W37", "2026-W37", 1),
            ("strain_au", "2026-W37", "2026-W37", 1),
            ("flags", "2026-W37", "2026-W37", 1),
            ("change_from_previous_week", "2026-W37", "2026-W38", 2),
            ("ratio_coupled", "2026-W37", "2026-W40", 4),
            ("ratio_uncoupled", "2026-W37", "2026-W40", 4),
            ("own_highest", "2026-W38", "2026-W42", 5),
            ("change_from_own_highest", "2026-W38", "2026-W42", 5),
            ("usual_week", "2026-W40", "2026-W42", 3),
        ]);
        let untouched = (other.load("2026-08-17", "2026-10-18").await, weeks(&other).await.expect(200));
        assert_eq!((&untouched.0["days"], &untouched.1["weeks"]), (&other_before.0["days"], &other_before.1["weeks"]));
        // What was answered before the correction is answered again, to the byte.
        for (before, path) in [(&days_before, "load?from=2026-08-17&to=2026-10-18"), (&weeks_before, "weeks?from=2026-W34&to=2026-W42")] {
            let then = coach.get(format!("athletes/{}/{path}", athlete.id())).query("as_of", before.string("as_of"));
            assert_eq!(then.await.expect(200).text(), before.text());
        }
    }
}
