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
use jiff::{Timestamp, ToSpan};
use serde_json::Value;
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

/// A span of time in which nothing was written, and an athlete's history as it was answered in it.
struct Quiet {
    from: Timestamp,
    to: Timestamp,
    path: String,
    text: String,
}

impl Quiet {
    /// The span of one round of answers.
    fn of(answers: &[(String, String)]) -> Self {
        let instants = answers.iter().map(|(_, text)| as_of(text));
        let (path, text) = answers
            .iter()
            .find(|(path, _)| path.contains("/history"))
            .expect("a history");
        let (path, _) = path.split_once("&as_of=").expect("an instant");
        Self {
            from: instants.clone().min().expect("an answer"),
            to: instants.max().expect("an answer"),
            path: path.to_owned(),
            text: text.clone(),
        }
    }
}

fn as_of(text: &str) -> Timestamp {
    let answer: Value = serde_json::from_str(text).expect("JSON");
    let instant = answer["as_of"].as_str().expect("an instant");
    instant.parse().expect("an instant")
}

/// Asks for the history as of random instants: each is the one that was answered around then.
async fn assert_known_then(world: &World, quiet: &[Quiet], chance: &mut Chance) -> usize {
    let number = many(10, 1_000);
    for _ in 0..number {
        let Quiet {
            from,
            to,
            path,
            text,
        } = chance.of(quiet);
        let span = u64::try_from(to.duration_since(*from).as_micros()).expect("an order");
        let after = i64::try_from(chance.below(span + 1)).expect("some microseconds");
        let instant = *from + after.microseconds();
        let then = world.reader(path).get(path).query("as_of", instant).await;
        let expected = text.replace(&as_of(text).to_string(), &instant.to_string());
        assert_eq!(then.expect(200).text(), expected, "{path} as of {instant}");
    }
    number
}

async fn answers_stay_whatever_is_written(database: Database, seed: u64) {
    let world = World::prepare(database).await;
    let mut chance = Chance::new(seed);
    let mut kept = answers(&world).await;
    let mut quiet = vec![Quiet::of(&kept)];
    let mut accepted = Vec::new();
    let mut last = String::new();
    for _ in 0..WRITES {
        let (what, answer) = world.write(&mut chance).await;
        assert!(answer.status < 500, "{what}: {}", answer.text());
        if answer.status < 300 {
            accepted.push(what.clone());
        }
        last = format!("{what} (seed {seed}, {})", answer.status);
        let round = answers(&world).await;
        quiet.push(Quiet::of(&round));
        kept.extend(round);
    }
    assert_unchanged(&world, &kept, &last).await;
    let instants = assert_known_then(&world, &quiet, &mut chance).await;
    println!("a history as of {instants} random instants (seed {seed})");
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
    async fn an_answer_stays_whatever_is_written(database: Database) {
        answers_stay_whatever_is_written(database, 1).await;
    }

    #[ignore = "slow: eleven more seeds"]
    async fn an_answer_stays_whatever_is_written_often(database: Database) {
        for seed in 2..13 {
            answers_stay_whatever_is_written(database, seed).await;
        }
    }
}
