//! Writers at work while the database goes away and comes back.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::time::Instant;

use tokio::task::JoinHandle;

use crate::writer::{self, Try, Writer};
use crate::*;

/// What the writers have been told so far.
#[derive(Default)]
struct Told {
    successes: AtomicUsize,
    refusals: AtomicUsize,
    longest_wait_ms: AtomicU64,
    enough: AtomicBool,
}

/// Writers, each with one request after the other.
pub(crate) struct Load {
    told: Arc<Told>,
    tasks: Vec<JoinHandle<Writer>>,
}

impl Load {
    /// Lets them begin.
    pub(crate) async fn start(club: &Club, athletes: &[Athlete], seed: u64) -> Self {
        let told = Arc::new(Told::default());
        let writers = writer::writers(club, athletes, seed).await.into_iter();
        let tasks = writers.map(|writer| tokio::spawn(write(writer, Arc::clone(&told))));
        Self {
            tasks: tasks.collect(),
            told,
        }
    }

    /// Waits for so many more successes.
    pub(crate) async fn more_successes(&self, number: usize) {
        let goal = self.told.successes.load(Ordering::Relaxed) + number;
        while self.told.successes.load(Ordering::Relaxed) < goal {
            moment().await;
        }
    }

    /// How many writes were refused.
    pub(crate) fn refusals(&self) -> usize {
        self.told.refusals.load(Ordering::Relaxed)
    }

    /// The longest wait for an answer, in milliseconds.
    pub(crate) fn longest_wait_ms(&self) -> u64 {
        self.told.longest_wait_ms.load(Ordering::Relaxed)
    }

    /// Lets them end, with everything answered.
    pub(crate) async fn end(self) -> Vec<Writer> {
        self.told.enough.store(true, Ordering::Relaxed);
        let mut writers = Vec::new();
        for task in self.tasks {
            writers.push(task.await.expect("a writer ends"));
        }
        for writer in &mut writers {
            writer.replay().await;
        }
        writers
    }
}

/// Writes until it is enough. Every request must be answered, whatever the answer is.
async fn write(mut writer: Writer, told: Arc<Told>) -> Writer {
    while !told.enough.load(Ordering::Relaxed) {
        let sent = Instant::now();
        let answered = writer.go_on().await;
        let waited = u64::try_from(sent.elapsed().as_millis()).expect("a short wait");
        told.longest_wait_ms.fetch_max(waited, Ordering::Relaxed);
        match answered {
            Try::Answered => told.successes.fetch_add(1, Ordering::Relaxed),
            Try::Refused => {
                moment().await;
                told.refusals.fetch_add(1, Ordering::Relaxed)
            }
            Try::NoAnswer => panic!("a request was not answered while PostgreSQL was away"),
        };
    }
    writer
}
