//! Eight clients create, read, amend and remove the same reports, and write down what they saw and when.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Instant;

use crate::*;

/// Reports that are worked on at a time: few, so that the clients meet.
const RECENT: usize = 12;

/// One operation: when it was sent and answered, on which report, and what was seen.
#[derive(Clone, Debug)]
pub(crate) struct Event {
    pub(crate) began: Instant,
    pub(crate) ended: Instant,
    pub(crate) session: String,
    pub(crate) saw: Saw,
}

/// What an answer says. A mark is the text that one write alone has put into its version.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Saw {
    /// This version was made by this operation.
    Wrote { version: i64, mark: String },
    /// This version was made by removing the report.
    Removed { version: i64 },
    /// This version was the current one.
    Read { version: i64, mark: String },
    /// It was there no more.
    Gone,
    /// The version that was to be replaced was not the current one.
    Stale { version: i64 },
}

/// What the clients share.
struct Shared {
    sessions: Mutex<Vec<String>>,
    left: AtomicUsize,
}

struct Recorder {
    app: Client,
    athletes: Vec<Athlete>,
    shared: Arc<Shared>,
    random: ChaCha20Rng,
    number: usize,
    events: Vec<Event>,
}

/// Runs about so many operations and gives what was seen.
pub(crate) async fn of_eight_clients(
    club: &Club,
    athletes: &[Athlete],
    operations: usize,
) -> Vec<Event> {
    let app = club.as_role("integration");
    app.get("squads").await.expect(200);
    let (sessions, left) = (Mutex::default(), AtomicUsize::new(operations));
    let shared = Arc::new(Shared { sessions, left });
    let clients = (0..8).map(|number| Recorder {
        app: app.clone(),
        athletes: athletes.to_vec(),
        shared: Arc::clone(&shared),
        random: ChaCha20Rng::seed_from_u64(number as u64),
        number,
        events: Vec::new(),
    });
    let tasks: Vec<_> = clients.map(|client| tokio::spawn(client.run())).collect();
    let mut events = Vec::new();
    for task in tasks {
        events.extend(task.await.expect("a client ends"));
    }
    events
}

impl Recorder {
    async fn run(mut self) -> Vec<Event> {
        while self
            .shared
            .left
            .fetch_update(Ordering::Relaxed, Ordering::Relaxed, |left| {
                left.checked_sub(1)
            })
            .is_ok()
        {
            let Some(session) = self.recent() else {
                self.create().await;
                continue;
            };
            match self.random.random_range(0..20) {
                0..2 => self.create().await,
                2..9 => drop(self.read(&session).await),
                9..19 => self.amend(&session).await,
                _ => self.remove(&session).await,
            }
        }
        self.events
    }

    /// One of the reports that were made last.
    fn recent(&mut self) -> Option<String> {
        let sessions = self.shared.sessions.lock().expect("no client panicked");
        let among = sessions.len().min(RECENT);
        let back = self.random.random_range(1..=among.max(1));
        sessions.get(sessions.len().checked_sub(back)?).cloned()
    }

    fn mark(&mut self) -> String {
        format!("{}-{}", self.number, self.events.len())
    }

    async fn create(&mut self) {
        let (mark, day) = (self.mark(), self.random.random_range(1..=8));
        let athlete = &self.athletes[self.random.random_range(0..self.athletes.len())];
        let report = athlete.session(&format!("2026-11-{day:02}T10:00:00+01:00"), 1, 5.0);
        let report = report
            .with("external_id", mark.as_str())
            .with("note", mark.as_str());
        let began = Instant::now();
        let answer = report.into_request().await;
        if answer.status != 503 {
            let session = answer.expect(201).string("session_id");
            self.saw(began, &session, Saw::Wrote { version: 1, mark });
            self.shared
                .sessions
                .lock()
                .expect("no client panicked")
                .push(session);
        }
    }

    /// The current version, unless it is gone.
    async fn read(&mut self, session: &str) -> Option<i64> {
        let began = Instant::now();
        let answer = self.app.get(format!("sessions/{session}")).await;
        let saw = match answer.status {
            200 => Saw::Read {
                version: version(&answer),
                mark: answer.string("note"),
            },
            404 => Saw::Gone,
            503 => return None,
            _ => panic!("{}: {}", answer.request, answer.text()),
        };
        let seen = (answer.status == 200).then(|| version(&answer));
        self.saw(began, session, saw);
        seen
    }

    async fn amend(&mut self, session: &str) {
        let Some(seen) = self.read(session).await else {
            return;
        };
        let mark = self.mark();
        let patch = self
            .app
            .patch(format!("sessions/{session}"), json!({ "note": mark }));
        let began = Instant::now();
        let answer = patch.if_match(&format!("\"{seen}\"")).await;
        let saw = match answer.status {
            200 => Saw::Wrote {
                version: version(&answer),
                mark,
            },
            404 => Saw::Gone,
            412 => Saw::Stale { version: seen },
            503 => return,
            _ => panic!("{}: {}", answer.request, answer.text()),
        };
        self.saw(began, session, saw);
    }

    async fn remove(&mut self, session: &str) {
        let Some(seen) = self.read(session).await else {
            return;
        };
        let removal = self.app.delete(format!("sessions/{session}"));
        let removal = removal.body("application/json", r#"{"reason": "entered twice"}"#);
        let began = Instant::now();
        let answer = removal.if_match(&format!("\"{seen}\"")).await;
        let saw = match answer.status {
            204 => Saw::Removed { version: seen + 1 },
            404 => Saw::Gone,
            412 => Saw::Stale { version: seen },
            503 => return,
            _ => panic!("{}: {}", answer.request, answer.text()),
        };
        self.saw(began, session, saw);
    }

    fn saw(&mut self, began: Instant, session: &str, saw: Saw) {
        let (ended, session) = (Instant::now(), session.to_owned());
        self.events.push(Event {
            began,
            ended,
            session,
            saw,
        });
    }
}

fn version(answer: &Answer) -> i64 {
    answer["version"].as_i64().expect("a version")
}
