//! Random schedules of requests under one idempotency key: at once, one after the other, given up half-way, with other
//! content, by another person, in another club. Each person in each club has one effect, and one answer for all requests.

use std::collections::BTreeMap;
use std::time::Duration;

use crate::*;

/// The key of a schedule is the same for all of them; each is a caller of their own.
const CALLERS: [(usize, &str); 4] = [(0, "anna"), (0, "bodil"), (1, "anna"), (1, "bodil")];

/// One request of a schedule.
#[derive(Clone, Copy, Debug)]
struct Step {
    caller: usize,
    content: char,
    /// Milliseconds before it is sent.
    wait: u64,
    /// Milliseconds after which the caller hangs up.
    patience: Option<u64>,
}

impl Step {
    fn random(random: &mut ChaCha20Rng) -> Self {
        Self {
            caller: random.random_range(0..CALLERS.len()),
            content: if random.random_ratio(1, 5) { 'b' } else { 'a' },
            wait: random.random_range(0..=6),
            patience: random
                .random_ratio(1, 5)
                .then(|| random.random_range(0..=8)),
        }
    }
}

/// What one caller was answered, with the content sent.
type Answers = Vec<(char, Answer)>;

fn send(caller: &Client, schedule: usize, content: char) -> Request {
    let body = json!({ "name": format!("{schedule}{content}") });
    caller
        .post("squads", body)
        .idempotency_key(&format!("k-{schedule}"))
}

/// Sends until there is an answer other than "not now".
async fn insist(caller: &Client, schedule: usize, content: char) -> Answer {
    loop {
        let answer = send(caller, schedule, content).await;
        if ![409, 503].contains(&answer.status) {
            return answer;
        }
        moment().await;
    }
}

/// Runs a schedule and gives the content that each caller's key stands for.
async fn run(callers: Vec<Client>, schedule: usize, steps: Vec<Step>) -> BTreeMap<usize, char> {
    let tasks: Vec<_> = steps
        .iter()
        .map(|step| tokio::spawn(one(callers[step.caller].clone(), schedule, *step)))
        .collect();
    let mut answers: BTreeMap<usize, Answers> = BTreeMap::new();
    for (step, task) in steps.iter().zip(tasks) {
        let of_caller = answers.entry(step.caller).or_default();
        of_caller.extend(
            task.await
                .expect("the task ends")
                .map(|answer| (step.content, answer)),
        );
    }
    let mut effects = BTreeMap::new();
    for (caller, mut answers) in answers {
        let last = insist(&callers[caller], schedule, 'a').await;
        answers.push(('a', last));
        effects.insert(
            caller,
            effect(&answers, &format!("schedule {schedule}: {steps:?}")),
        );
    }
    effects
}

async fn one(caller: Client, schedule: usize, step: Step) -> Option<Answer> {
    tokio::time::sleep(Duration::from_millis(step.wait)).await;
    let sent = send(&caller, schedule, step.content).attempt();
    match step.patience {
        None => Some(sent.await.expect("an answer")),
        Some(patience) => {
            let answer = tokio::time::timeout(Duration::from_millis(patience), sent).await;
            answer.ok().map(|answer| answer.expect("an answer"))
        }
    }
}

/// The content that a caller's key stands for: all answers must agree on it.
fn effect(answers: &Answers, what: &str) -> char {
    let made: Vec<_> = answers
        .iter()
        .filter(|(_, answer)| answer.status == 201)
        .collect();
    // When no success was seen, the request that was given up had the effect.
    let effect = made.first().map_or('b', |(content, _)| *content);
    for (content, answer) in answers {
        match answer.status {
            201 => {
                assert_eq!(*content, effect, "two contents under one key; {what}");
                assert_eq!(
                    answer.bytes, made[0].1.bytes,
                    "two answers to one content; {what}"
                );
            }
            422 => {
                assert_ne!(*content, effect, "the same content is refused; {what}");
                assert_eq!(answer["code"], "idempotency_key_reused", "{what}");
            }
            409 | 503 => {}
            _ => panic!("{}; {what}", answer.text()),
        }
    }
    let first = made
        .iter()
        .filter(|(_, answer)| answer.header("idempotent-replayed").is_none());
    assert!(first.count() <= 1, "two answers were not replayed; {what}");
    effect
}

on_both_databases! {
    async fn random_schedules_have_one_effect_a_caller(database: Database) {
        let server = Server::setup(database).busy().start().await;
        let clubs = [server.club("Havneby Handball").await, server.club("Fjordby Handball").await];
        let callers = CALLERS.map(|(club, subject)| clubs[club].client(Identity::role("club_admin").subject(subject)));
        for caller in &callers {
            caller.get("squads").await.expect(200);
        }
        let mut random = ChaCha20Rng::seed_from_u64(13);
        let schedules = many(300, 10_000);
        let mut expected = [vec![], vec![]];
        for first in (0..schedules).step_by(4) {
            let group: Vec<_> = (first..schedules.min(first + 4)).map(|schedule| {
                let steps = (0..random.random_range(2..=8)).map(|_| Step::random(&mut random)).collect();
                (schedule, tokio::spawn(run(callers.to_vec(), schedule, steps)))
            }).collect();
            for (schedule, task) in group {
                for (caller, content) in task.await.expect("the schedule ends") {
                    expected[CALLERS[caller].0].push(format!("{schedule}{content}"));
                }
            }
        }
        for (club, mut expected) in clubs.iter().zip(expected) {
            let squads = all_items(&club.as_role("club_admin"), "squads").await;
            let mut names: Vec<_> = squads.iter().map(|squad| squad["name"].as_str().expect("a name").to_owned()).collect();
            names.sort();
            expected.sort();
            assert_eq!(names, expected, "the club's squads and the effects that were answered");
        }
        println!("{database:?}: {schedules} schedules, one effect a caller each");
    }
}
