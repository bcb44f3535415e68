//! Two machines that run the service on one database, their clocks, the clubs' apps and whoever receives their notices.

use std::sync::atomic::{AtomicI64, Ordering};

use jiff::civil::Weekday;
use jiff::{SignedDuration, Timestamp};
use plimsoll_api::app::App;
use plimsoll_api::auth::tenant::Caller;
use plimsoll_api::delivery::Outcome;
use plimsoll_api::error::Code;
use plimsoll_api::ids::{Ids, NoticeEndpointId};
use plimsoll_api::jobs::deliver::Courier;
use plimsoll_api::jobs::{look_ahead, weekly_close};
use plimsoll_api::services::audit::Reading;
use plimsoll_api::services::audit_chain::ChainKey;
use plimsoll_api::store::notices::deliveries;
use plimsoll_api::store::testing::gate::Verdict;
use plimsoll_api::store::testing::number;
use plimsoll_api::store::{AttemptOutcome, Clubs, Store, Tenant};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use tempfile::TempDir;

use crate::base::{self, AFTERWARDS, Base, Club, Place};
use crate::client::{Kind, Sent};
use crate::receivers::Receivers;
use crate::task::{Attempted, End, Stop, Task};
use crate::trace::Trace;

/// Looks at the outbox until it is empty, after the last fault.
const ROUNDS: usize = 200;

/// Whether anything goes wrong at a stop.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weather {
    Rough,
    Calm,
}

/// Who is sent something.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Whom {
    /// A webhook that takes everything, soon or late.
    Steady,
    /// A webhook that fails in every way.
    Troubled,
    /// A recipient of mail; the mail server is away at times.
    Mail,
}

pub(crate) struct Machine {
    pub(crate) app: App,
    hand: &'static AtomicI64,
    skew: SignedDuration,
}

/// What was done to it.
#[derive(Default, Clone, Copy)]
pub(crate) struct Done {
    pub(crate) steps: usize,
    pub(crate) crashes: usize,
    pub(crate) refused: usize,
    pub(crate) lost: usize,
    pub(crate) clock_steps: usize,
    pub(crate) reads: usize,
}

pub(crate) struct World {
    pub(crate) random: ChaCha20Rng,
    pub(crate) clubs: Vec<Club>,
    pub(crate) store: Store,
    pub(crate) key: ChainKey,
    pub(crate) machines: Vec<Machine>,
    pub(crate) tasks: Vec<Task>,
    pub(crate) sent: Vec<Sent>,
    pub(crate) receivers: Receivers,
    pub(crate) trace: Trace,
    pub(crate) done: Done,
    pub(crate) begin: Timestamp,
    pub(crate) now: Timestamp,
    /// How much time has passed, steps of clocks apart.
    pub(crate) passed: SignedDuration,
    /// The latest that any clock has shown.
    latest: Timestamp,
    _folder: TempDir,
    /// Gone with the world.
    pub(crate) database: Place,
}

impl World {
    pub(crate) fn new(base: &Base, seed: u64) -> Self {
        let folder = base::folder();
        let database = base.copy();
        let store = database.store();
        let key = ChainKey::open(&folder.path().join("audit.key")).unwrap();
        let machine = |number: u64| {
            let hand: &'static AtomicI64 = Box::leak(Box::new(base.begin.as_microsecond().into()));
            let ids = Ids::seeded(seed * 2 + number);
            Machine {
                app: base::app(&store, hand, ids, folder.path()),
                hand,
                skew: SignedDuration::ZERO,
            }
        };
        Self {
            random: ChaCha20Rng::seed_from_u64(seed),
            clubs: base.clubs.clone(),
            machines: vec![machine(0), machine(1)],
            key,
            store,
            tasks: Vec::new(),
            sent: Vec::new(),
            receivers: Receivers::default(),
            trace: Trace::of(seed),
            done: Done::default(),
            begin: base.begin,
            now: base.begin,
            passed: SignedDuration::ZERO,
            latest: base.begin,
            _folder: folder,
            database,
        }
    }

    pub(crate) fn clock(&self, machine: usize) -> Timestamp {
        self.machines[machine].app.clock.now()
    }

    /// How long it is until one of the clubs has Monday, 07:00.
    pub(crate) fn until_monday(&mut self) -> SignedDuration {
        let zone = self.clubs[self.random.random_range(0..self.clubs.len())].zone;
        let local = self.now.in_tz(zone).unwrap();
        let monday = local.nth_weekday(1, Weekday::Monday).unwrap().date();
        let closing = monday.at(7, 0, 0, 0).in_tz(zone).unwrap();
        closing.timestamp().duration_since(self.now)
    }

    /// Time passes everywhere.
    pub(crate) fn pass(&mut self, time: SignedDuration) {
        let time = time.max(SignedDuration::ZERO);
        self.now += time;
        self.passed += time;
        self.set_clocks();
    }

    /// The clock of one machine is set forward or back.
    pub(crate) fn step_clock(&mut self, machine: usize, by: SignedDuration) {
        self.machines[machine].skew += by;
        self.done.clock_steps += 1;
        self.set_clocks();
    }

    fn set_clocks(&mut self) {
        for machine in &self.machines {
            let shown = self.now + machine.skew;
            machine
                .hand
                .store(shown.as_microsecond(), Ordering::Relaxed);
            self.latest = self.latest.max(shown);
        }
    }

    /// One look of the closing job begins.
    pub(crate) async fn look(&mut self, machine: usize) {
        let app = self.machines[machine].app.clone();
        let task = Task::new(machine, "look".to_owned(), |_| async move {
            weekly_close::look(&app).await;
            End::Job("looked")
        });
        self.begin_task(task).await;
    }

    /// One look of the job that looks ahead begins.
    pub(crate) async fn look_ahead(&mut self, machine: usize) {
        let app = self.machines[machine].app.clone();
        let task = Task::new(machine, "look ahead".to_owned(), |_| async move {
            look_ahead::look(&app).await;
            End::Job("looked ahead")
        });
        self.begin_task(task).await;
    }

    /// One round of the delivery worker begins: all that is due, endpoint by endpoint.
    pub(crate) async fn deliver(&mut self, machine: usize) {
        let app = self.machines[machine].app.clone();
        let task = Task::new(machine, "deliver".to_owned(), |post| async move {
            let courier = Courier::new(app, post);
            let Ok(due) = courier.due().await else {
                return End::Job("saw nothing");
            };
            for (club, endpoint) in due {
                let tenant = Tenant::granted(club);
                while let Ok(true) = courier.send_one(tenant, endpoint).await {}
            }
            End::Job("delivered")
        });
        self.begin_task(task).await;
    }

    /// A client makes a call, the first or another with the same key.
    pub(crate) async fn send(&mut self, machine: usize, number: usize) {
        let call = self.sent[number]
            .call(self.machines[machine].app.clone())
            .await;
        let name = format!("write {}", self.sent[number].key);
        let task = Task::new(
            machine,
            name,
            |_| async move { End::Answer(number, call.await) },
        );
        self.begin_task(task).await;
    }

    /// Somebody reads an athlete's record, which is written down first.
    pub(crate) async fn read(&mut self, machine: usize, club: usize) {
        let (club, app) = (&self.clubs[club], &self.machines[machine].app);
        let caller = Caller::system(club.tenant, "club-app", app.clock.now());
        let reading = Reading {
            athlete: club.athletes[0],
            action: "read_load",
            purpose: None,
        };
        app.audit.record(app, &caller, reading).await.unwrap();
        self.done.reads += 1;
    }

    async fn begin_task(&mut self, mut task: Task) {
        let end = task.drive().await;
        assert!(
            end.is_none() && matches!(task.stop, Some(Stop::Store(_))),
            "{}",
            task.name
        );
        self.trace.note(format!(
            "{} machine {} begins: {}",
            self.now, task.machine, task.name
        ));
        self.tasks.push(task);
    }

    /// Everything that runs on a machine ends at once.
    pub(crate) fn crash(&mut self, machine: usize) {
        let (gone, left): (Vec<Task>, _) = std::mem::take(&mut self.tasks)
            .into_iter()
            .partition(|task| task.machine == machine);
        self.tasks = left;
        for task in gone {
            // What is on the way may still come through.
            if let Some(Stop::Sending(message)) = &task.stop
                && self.random.random_bool(0.5)
            {
                self.receivers.arrives(message);
            }
        }
        self.done.crashes += 1;
    }

    /// Lets a task go on to its next stop. One whose message is not answered yet stays where it is.
    pub(crate) async fn go_on(&mut self, index: usize, weather: Weather) -> bool {
        let Some(stop) = self.tasks[index].stop.take() else {
            panic!("a task without a stop");
        };
        let mut written = None;
        match stop {
            Stop::Store(call) => {
                let verdict = self.verdict(weather);
                self.note(index, &format!("{verdict:?}"));
                let unwritten = self.tasks[index].unwritten.take();
                if verdict == Verdict::LoseAnswer && unwritten.is_none() {
                    self.receivers.taken_unseen();
                }
                written = unwritten.filter(|_| verdict != Verdict::Refuse);
                call.judge(verdict);
            }
            Stop::Sending(message) => {
                let to = self.whom(message.delivery.endpoint_id);
                let Some((outcome, arrives)) = self.answer(weather, to) else {
                    self.tasks[index].stop = Some(Stop::Sending(message));
                    return false;
                };
                self.note(
                    index,
                    &format!(
                        "{} {:?} {arrives}",
                        message.delivery.delivery_id, outcome.outcome
                    ),
                );
                if arrives {
                    self.receivers.arrives(&message);
                }
                self.tasks[index].unwritten = Some(Attempted {
                    delivery: message.delivery.clone(),
                    taken_at: message.at,
                    ended_at: self.clock(self.tasks[index].machine),
                    outcome,
                });
                message.answer(outcome);
            }
        }
        let end = self.tasks[index].drive().await;
        if let Some(attempt) = written {
            self.judge_written(&attempt).await;
        }
        if let Some(Stop::Sending(message)) = &self.tasks[index].stop {
            self.receivers.leaves(message);
        }
        if let Some(end) = end {
            let task = self.tasks.remove(index);
            self.ended(&task, end);
        }
        true
    }

    fn note(&mut self, index: usize, what: &str) {
        let task = &self.tasks[index];
        let line = format!(
            "{} machine {} {}: {what}",
            self.now, task.machine, task.name
        );
        self.trace.note(line);
        self.done.steps += 1;
    }

    fn verdict(&mut self, weather: Weather) -> Verdict {
        if weather == Weather::Calm {
            return Verdict::Go;
        }
        match self.random.random_range(0..100) {
            0..3 => {
                self.done.refused += 1;
                Verdict::Refuse
            }
            3..6 => {
                self.done.lost += 1;
                Verdict::LoseAnswer
            }
            _ => Verdict::Go,
        }
    }

    fn whom(&self, endpoint: NoticeEndpointId) -> Whom {
        let is =
            |of: fn(&Club) -> NoticeEndpointId| self.clubs.iter().any(|club| of(club) == endpoint);
        if is(|club| club.steady) {
            Whom::Steady
        } else if is(|club| club.mail) {
            Whom::Mail
        } else {
            Whom::Troubled
        }
    }

    /// What a sender learns, and whether its message has come through; `None` when there is no answer yet.
    fn answer(&mut self, weather: Weather, to: Whom) -> Option<(Outcome, bool)> {
        let refused = |status, retry_after| Outcome {
            status: Some(status),
            retry_after,
            ..Outcome::unanswered(AttemptOutcome::Refused)
        };
        let accepted = Outcome {
            status: Some(204),
            ..Outcome::unanswered(AttemptOutcome::Accepted)
        };
        let chance = match weather {
            Weather::Calm => 0,
            Weather::Rough => self.random.random_range(0..100),
        };
        Some(match chance {
            0..50 => (accepted, true),
            50..65 => return None,
            _ if to == Whom::Steady => (accepted, true),
            _ if to == Whom::Mail => (Outcome::unanswered(AttemptOutcome::NotSent), false),
            65..75 => (refused(500, None), true),
            75..80 => (
                refused(429, Some(self.random.random_range(0..200_000))),
                true,
            ),
            80..90 => (
                Outcome::unanswered(AttemptOutcome::TimedOut),
                self.random.random_bool(0.7),
            ),
            90..99 => (Outcome::unanswered(AttemptOutcome::Unreachable), false),
            _ => {
                let gone = Outcome {
                    status: Some(410),
                    is_final: true,
                    ..Outcome::unanswered(AttemptOutcome::Gone)
                };
                (gone, true)
            }
        })
    }

    async fn judge_written(&mut self, attempt: &Attempted) {
        let (id, clubs) = (attempt.delivery.delivery_id, self.clubs.clone());
        let row = self.store.read(Clubs::Every, move |conn| {
            let mut rows = clubs
                .iter()
                .map(|club| deliveries::find(conn, club.tenant, id));
            rows.find_map(Result::transpose).transpose()
        });
        let row = row.await.unwrap().unwrap();
        self.receivers.written(attempt, &row);
    }

    fn ended(&mut self, task: &Task, end: End) {
        let what = match end {
            End::Job(word) => word.to_owned(),
            End::Answer(number, Ok(reply)) => {
                let status = reply.status;
                self.sent[number].answered(reply);
                status.to_string()
            }
            End::Answer(_, Err(problem)) => {
                let by_the_gate = matches!(problem.code, Code::Busy | Code::OutcomeUnknown);
                assert!(by_the_gate, "{}: {problem}", task.name);
                format!("{:?}", problem.code)
            }
        };
        self.trace.note(format!(
            "{} machine {} {}: {what}",
            self.now, task.machine, task.name
        ));
    }

    /// The faults are over: clocks are right again, later than any was, and everything that is due is done.
    pub(crate) async fn come_to_rest(&mut self) {
        if self.random.random_bool(0.5) {
            self.crash(0);
            self.crash(1);
        }
        self.run_out().await;
        for machine in &mut self.machines {
            machine.skew = SignedDuration::ZERO;
        }
        self.now = self.latest;
        self.pass(AFTERWARDS);
        for _ in 0..ROUNDS {
            for machine in 0..self.machines.len() {
                self.look(machine).await;
                self.deliver(machine).await;
            }
            self.run_out().await;
            let Some(due) = self.next_due().await else {
                return;
            };
            let until = due.duration_since(self.now);
            self.pass(until.max(SignedDuration::from_secs(1)));
        }
        panic!("deliveries are pending for ever");
    }

    async fn run_out(&mut self) {
        while !self.tasks.is_empty() {
            self.go_on(0, Weather::Calm).await;
        }
    }

    async fn next_due(&self) -> Option<Timestamp> {
        let moment = self.database.takeable_from();
        let next =
            format!("SELECT coalesce(min({moment}), 0) FROM deliveries WHERE state = 'pending'");
        let next = self
            .store
            .read(Clubs::Every, move |conn| number(conn, &next))
            .await
            .unwrap();
        (next > 0).then(|| Timestamp::from_microsecond(next).unwrap())
    }

    /// A write of a new kind, which is to be sent.
    pub(crate) fn plan(
        &mut self,
        tenant: Tenant,
        kind: Kind,
        body: serde_json::Value,
        machine: usize,
    ) -> usize {
        let key = format!("key-{}", self.sent.len());
        let now = self.clock(machine);
        self.sent.push(Sent::new(tenant, kind, key, body, now));
        self.sent.len() - 1
    }
}
