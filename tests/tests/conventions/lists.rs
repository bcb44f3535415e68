//! Lists: pages that follow each other to the end, whatever is added meanwhile.

use std::collections::BTreeSet;

use crate::*;

/// So many reports, each on an hour of its own, from 1 October 2026.
async fn many_reports(world: &World, number: usize) -> BTreeSet<String> {
    let rows = (0..number).map(|at| {
        let started_at = format!("2026-10-{:02}T{:02}:00:00+02:00", 1 + at / 20, at % 20);
        world.athlete.session(&started_at, 10, 5.0).into_body()
    });
    let answer = world.club.bulk(rows.collect()).await.expect(200);
    assert_eq!(answer["accepted"], number, "{}", answer.text());
    let results = answer["results"].as_array().expect("results");
    results
        .iter()
        .map(|result| result["session_id"].as_str().expect("an id").to_owned())
        .collect()
}

/// The target of `Link: <…>; rel="next"`.
fn next(page: &Answer) -> Option<String> {
    let link = page.header("link")?;
    let (target, parameters) = link.split_once(';').expect("a link with parameters");
    assert_eq!(parameters.trim(), "rel=\"next\"");
    Some(target.trim_matches(['<', '>']).to_owned())
}

fn ids(page: &Answer) -> Vec<String> {
    let items = page["items"].as_array().expect("items");
    items
        .iter()
        .map(|item| item["session_id"].as_str().expect("an id").to_owned())
        .collect()
}

on_both_databases! {
    async fn pages_hold_everything_once_while_rows_are_added(database: Database) {
        let world = world(database).await;
        let mut expected = many_reports(&world, 120).await;
        let mut page = world.app().get("sessions").await.expect(200);
        assert_eq!(ids(&page).len(), 50, "the usual page");
        // One row before the cursor, which is not seen any more, and one after it, which is.
        world.athlete.session("2026-10-01T00:30:00+02:00", 10, 5.0).await;
        let late = world.athlete.session("2026-10-20T12:00:00+02:00", 10, 5.0).await;
        expected.insert(late.string("session_id"));

        let mut seen = ids(&page);
        let mut sizes = vec![seen.len()];
        while let Some(target) = next(&page) {
            assert!(page["next"].is_string());
            page = world.app().get(target).await.expect(200);
            sizes.push(ids(&page).len());
            seen.extend(ids(&page));
        }
        assert_eq!(page["next"], Value::Null);
        assert_eq!(sizes, [50, 50, 21]);
        assert_eq!(seen.len(), expected.len(), "no row is there twice");
        assert_eq!(seen.into_iter().collect::<BTreeSet<_>>(), expected);
    }

    async fn a_cursor_keeps_limit_and_filter(database: Database) {
        let world = world(database).await;
        many_reports(&world, 9).await;
        let list = || world.app().get("sessions").query("limit", 4).query("from", "2026-10-01");
        let first = list().await.expect(200);
        let target = next(&first).expect("a next page");
        assert!(target.contains("limit=4") && target.contains("from=2026-10-01"), "{target}");
        let by_field = list().query("after", first["next"].as_str().expect("a cursor")).await.expect(200);
        assert_eq!(by_field.bytes, world.app().get(target).await.expect(200).bytes);
        assert_eq!(ids(&by_field).len(), 4);

        let cursor = first.string("next");
        let other = world.app().get("sessions").query("from", "2026-10-02").query("after", &cursor).await;
        other.expect_problem(400, "bad_cursor");
        let other = world.app().get("flags").query("after", &cursor).await;
        other.expect_problem(400, "bad_cursor");
    }

    async fn people_are_listed_in_pages_too(database: Database) {
        let world = world(database).await;
        for at in 0..7 {
            world.squad.athlete(&format!("Q-{at}")).await;
        }
        let mut path = "athletes?limit=3".to_owned();
        let mut codes = Vec::new();
        loop {
            let page = world.app().get(&path).await.expect(200);
            let items = page["items"].as_array().expect("items");
            assert!(items.len() <= 3);
            codes.extend(items.iter().map(|item| item["external_id"].as_str().expect("a code").to_owned()));
            match next(&page) {
                Some(target) => path = target,
                None => break,
            }
        }
        codes.sort();
        assert_eq!(codes, ["P-07", "Q-0", "Q-1", "Q-2", "Q-3", "Q-4", "Q-5", "Q-6"]);
    }
}
