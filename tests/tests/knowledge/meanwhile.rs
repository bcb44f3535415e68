//! Answers asked for while others write: each can be had again, to the byte.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::*;

/// How many answers each reader asks for.
fn reads() -> usize {
    many(60, 400)
}

const READERS: u64 = 3;
const WRITERS: u64 = 4;

/// Asks for figures as they now stand, and as of this very instant, while the world is written.
async fn read(world: Arc<World>, mut chance: Chance) -> Vec<(String, String)> {
    let paths = world.reads();
    let first = world.reader(&paths[0]).get(&paths[0]).await.expect(200);
    let first: jiff::Timestamp = first.string("as_of").parse().expect("an instant");
    let begun = std::time::Instant::now();
    let mut kept = Vec::new();
    while kept.len() < reads() {
        let path = chance.of(&paths);
        let read = world.reader(path).get(path);
        let answer = match chance.below(3) {
            0 => read.query("as_of", first + begun.elapsed()).await,
            _ => read.await,
        };
        if answer.status == 503 {
            continue;
        }
        let answer = answer.expect(200);
        let separator = if path.contains('?') { '&' } else { '?' };
        let as_of = answer.string("as_of");
        kept.push((format!("{path}{separator}as_of={as_of}"), answer.text()));
    }
    kept
}

async fn write(world: Arc<World>, mut chance: Chance, enough: Arc<AtomicBool>) -> usize {
    let mut written = 0;
    while !enough.load(Ordering::Relaxed) {
        let (what, answer) = world.write(&mut chance).await;
        assert!(
            answer.status < 500 || answer.status == 503,
            "{what}: {}",
            answer.text()
        );
        written += usize::from(answer.status < 300);
    }
    written
}

on_both_databases! {
    async fn an_answer_given_while_others_write_stays(database: Database) {
        let world = Arc::new(World::prepare(database).await);
        let enough = Arc::new(AtomicBool::new(false));
        let writing: Vec<_> = (0..WRITERS)
            .map(|seed| tokio::spawn(write(world.clone(), Chance::new(100 + seed), enough.clone())))
            .collect();
        let reading: Vec<_> = (0..READERS)
            .map(|seed| tokio::spawn(read(world.clone(), Chance::new(200 + seed))))
            .collect();
        let mut kept = Vec::new();
        for reader in reading {
            kept.extend(reader.await.expect("the reader ends"));
        }
        enough.store(true, Ordering::Relaxed);
        let mut written = 0;
        for writer in writing {
            written += writer.await.expect("the writer ends");
        }
        assert!(written > 20, "{written} writes say little");
        assert_unchanged(&world, &kept, "all writes").await;
        let texts: BTreeSet<_> = kept.iter().map(|(_, text)| text).collect();
        println!("{database:?}: {} answers, {} of them unlike, given during {written} writes", kept.len(), texts.len());
    }
}
