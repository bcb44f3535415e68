//! A writer who sends each write under a key, and sends it again under the same key until it is answered.

use std::collections::BTreeMap;

use crate::*;

/// What is known to be stored under an external id.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stored {
    pub(crate) session_id: String,
    pub(crate) version: i64,
    pub(crate) minutes: u64,
    pub(crate) rpe: f64,
}

/// One write: a report, an amended report, or a bulk call of both.
struct Write {
    key: String,
    path: &'static str,
    reports: Vec<Value>,
}

impl Write {
    fn request(&self, app: &Client) -> Request {
        let body = match self.path {
            "sessions" => self.reports[0].clone(),
            _ => json!({ "sessions": self.reports }),
        };
        app.post(self.path, body).idempotency_key(&self.key)
    }
}

/// Reports the sessions of one athlete.
pub(crate) struct Writer {
    pub(crate) athlete: Athlete,
    /// What was answered with success, by external id: no more and no less may be stored.
    pub(crate) stored: BTreeMap<String, Stored>,
    app: Client,
    random: ChaCha20Rng,
    number: usize,
    unanswered: Option<Write>,
    answered: Vec<(Write, Answer)>,
}

/// How a try ended.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Try {
    /// Answered with success.
    Answered,
    /// Answered that it could not be done now.
    Refused,
    /// Not answered: the server is gone.
    NoAnswer,
}

impl Writer {
    pub(crate) fn new(athlete: &Athlete, seed: u64) -> Self {
        Self {
            athlete: athlete.clone(),
            stored: BTreeMap::new(),
            app: athlete.club().as_role("integration"),
            random: ChaCha20Rng::seed_from_u64(seed),
            number: 0,
            unanswered: None,
            answered: Vec::new(),
        }
    }

    /// Sends the write that is unanswered, or else the next one.
    pub(crate) async fn go_on(&mut self) -> Try {
        let write = match self.unanswered.take() {
            Some(write) => write,
            None => self.next_write(),
        };
        let answer = write.request(&self.app).attempt().await;
        match answer {
            Ok(answer) if [200, 201].contains(&answer.status) => {
                self.settle(write, answer);
                Try::Answered
            }
            Ok(answer) => {
                assert!(
                    [503, 504].contains(&answer.status),
                    "{}: {}",
                    answer.request,
                    answer.text()
                );
                assert!(answer.header("retry-after").is_some(), "{}", answer.text());
                self.unanswered = Some(write);
                Try::Refused
            }
            Err(_) => {
                self.unanswered = Some(write);
                Try::NoAnswer
            }
        }
    }

    /// Writes until the server is gone.
    pub(crate) async fn write_until_gone(mut self) -> Self {
        while self.go_on().await != Try::NoAnswer {}
        self
    }

    /// Sends what was not answered again until it is. Then what was answered last is sent again too: the same bytes come.
    pub(crate) async fn replay(&mut self) {
        while self.unanswered.is_some() {
            if self.go_on().await != Try::Answered {
                moment().await;
            }
        }
        for (write, answer) in self.answered.iter().rev().take(5) {
            let again = write.request(&self.app).await.expect(answer.status);
            assert_eq!(
                again.bytes, answer.bytes,
                "{}: the answer changed",
                write.key
            );
            assert_eq!(
                again.header("idempotent-replayed"),
                Some("true"),
                "{}",
                write.key
            );
        }
    }

    /// How many writes were answered with success.
    pub(crate) fn answers(&self) -> usize {
        self.answered.len()
    }

    fn next_write(&mut self) -> Write {
        self.number += 1;
        let key = format!("{}-{}", self.athlete.id(), self.number);
        let (path, reports) = match self.random.random_range(0..10) {
            0..5 => ("sessions", vec![self.new_report(0)]),
            5..8 => ("sessions", vec![self.amended_report()]),
            _ => ("sessions/bulk", self.bulk()),
        };
        Write { key, path, reports }
    }

    fn bulk(&mut self) -> Vec<Value> {
        let rows = self.random.random_range(1..=6);
        let mut reports: Vec<Value> = (0..rows).map(|row| self.new_report(row)).collect();
        reports.push(self.amended_report());
        reports
    }

    fn new_report(&mut self, row: usize) -> Value {
        let id = format!("{}-{}-{row}", self.athlete.id(), self.number);
        self.report(&id)
    }

    fn amended_report(&mut self) -> Value {
        let at = self.random.random_range(0..self.stored.len().max(1));
        match self.stored.keys().nth(at).cloned() {
            Some(id) => self.report(&id),
            None => self.new_report(9),
        }
    }

    /// A report under this id, with content that no other has: of a day that may still be changed by everyone.
    fn report(&mut self, id: &str) -> Value {
        let (day, hour) = (
            self.random.random_range(1..=8),
            self.random.random_range(0..20),
        );
        let minutes = self.random.random_range(1..=9);
        let rpe = f64::from(self.random.random_range(0_u8..=20)) / 2.0;
        let started_at = format!("2026-11-{day:02}T{hour:02}:00:00+01:00");
        let report = self.athlete.session(&started_at, minutes, rpe);
        report
            .with("external_id", id)
            .with("note", format!("write {}", self.number))
            .into_body()
    }

    fn settle(&mut self, write: Write, answer: Answer) {
        if write.path == "sessions" {
            self.stored_now(
                &write.reports[0],
                answer.string("session_id"),
                answer["version"].as_i64(),
            );
        } else {
            let results = answer["results"].as_array().expect("results");
            for (report, result) in write.reports.iter().zip(results) {
                assert_eq!(result["outcome"], "accepted", "{}", answer.text());
                let id = result["session_id"].as_str().expect("an id").to_owned();
                self.stored_now(report, id, None);
            }
        }
        self.answered.push((write, answer));
    }

    /// Each write of an id makes its next version.
    fn stored_now(&mut self, report: &Value, session_id: String, version: Option<i64>) {
        let id = report["external_id"].as_str().expect("an external id");
        let before = self.stored.get(id).map_or(0, |stored| stored.version);
        assert!(
            version.is_none_or(|version| version == before + 1),
            "{id}: {version:?} after {before}"
        );
        let stored = Stored {
            session_id,
            version: before + 1,
            minutes: report["minutes"].as_u64().expect("minutes"),
            rpe: report["rpe"].as_f64().expect("a rating"),
        };
        self.stored.insert(id.to_owned(), stored);
    }
}

/// A writer for each athlete. The tokens are signed before, so that the writers do not each sign the same one.
pub(crate) async fn writers(club: &Club, athletes: &[Athlete], seed: u64) -> Vec<Writer> {
    club.as_role("integration").get("squads").await.expect(200);
    let seeds = (seed * 100)..;
    athletes
        .iter()
        .zip(seeds)
        .map(|(athlete, seed)| Writer::new(athlete, seed))
        .collect()
}
