//! What was known when: an answer about figures can be had again, to the byte, whatever is written afterwards. And what is kept up
//! write by write is what counting everything anew gives.
//!
//! The writes are random and repeatable: a seed decides them.

mod chance;
mod meanwhile;
mod world;

pub(crate) use chance::Chance;
pub(crate) use e2e::{
    Answer, Athlete, Client, Club, Database, Server, Squad, example_rules, many, on_both_databases,
};
pub(crate) use serde_json::json;
use world::World;

const WRITES: usize = 30;

/// Each answer is asked for twice, the second time by the instant of the first: then it is made anew from the versions known at that
/// instant, and must be the same text as the one made from what is kept up.
async fn answers(world: &World) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for path in world.reads() {
        let reader = world.reader(&path);
        let now = reader.get(&path).await.expect(200);
        let as_of = now.string("as_of");
        let then = reader.get(&path).query("as_of", &as_of).await.expect(200);
        assert_eq!(
            then.text(),
            now.text(),
            "{path}: counted anew as of {as_of}"
        );
        let separator = if path.contains('?') { '&' } else { '?' };
        found.push((format!("{path}{separator}as_of={as_of}"), now.text()));
    }
    found
}

async fn assert_unchanged(world: &World, kept: &[(String, String)], after: &str) {
    for (path, text) in kept {
        let again = world.reader(path).get(path).await.expect(200);
        assert_eq!(again.text(), *text, "{path}, after {after}");
    }
}

async fn answers_stay_whatever_is_written(database: Database, seed: u64) {
    let world = World::prepare(database).await;
    let mut chance = Chance::new(seed);
    let mut kept = answers(&world).await;
    let mut accepted = Vec::new();
    let mut last = String::new();
    for _ in 0..WRITES {
        let (what, answer) = world.write(&mut chance).await;
        assert!(answer.status < 500, "{what}: {}", answer.text());
        if answer.status < 300 {
            accepted.push(what.clone());
        }
        last = format!("{what} (seed {seed}, {})", answer.status);
        kept.extend(answers(&world).await);
    }
    assert_unchanged(&world, &kept, &last).await;
    assert!(
        accepted.len() * 2 > WRITES,
        "too few writes were accepted: {accepted:?}"
    );
    let kinds: std::collections::BTreeSet<_> = accepted.iter().collect();
    println!(
        "{} answers had again as of their instants (seed {seed})",
        kept.len()
    );
    assert!(kinds.len() > 7, "too few kinds of writes: {kinds:?}");
}

on_both_databases! {
    async fn an_answer_stays_whatever_is_written_1(database: Database) {
        answers_stay_whatever_is_written(database, 1).await;
    }

    async fn an_answer_stays_whatever_is_written_2(database: Database) {
        answers_stay_whatever_is_written(database, 2).await;
    }

    #[ignore = "slow: ten more seeds"]
    async fn an_answer_stays_whatever_is_written_often(database: Database) {
        for seed in 3..13 {
            answers_stay_whatever_is_written(database, seed).await;
        }
    }
}
