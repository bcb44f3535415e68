//! Random histories: writes of every kind, the program killed at times, and a copy that follows.

use crate::*;

/// Histories played on each database; with `tests/run --long` 200.
fn histories() -> usize {
    many(8, 200)
}

/// What there is to be changed, by path, with the version that is needed.
#[derive(Default)]
struct Made {
    sessions: Vec<String>,
    events: Vec<String>,
    rest_days: Vec<String>,
    absences: Vec<String>,
    attendance: Vec<String>,
    programmes: Vec<String>,
    /// Those that were removed too.
    all_programmes: Vec<String>,
    assignments: Vec<String>,
    questions: Vec<String>,
}

/// A club in which writes happen by chance.
struct Play {
    chance: ChaCha20Rng,
    app: Client,
    coach: Client,
    guardian: Client,
    squads: Vec<Squad>,
    athletes: Vec<String>,
    made: Made,
}

impl Play {
    fn day(&mut self) -> String {
        format!("2026-10-{:02}", self.chance.random_range(1..=31))
    }

    fn athlete(&mut self) -> String {
        let at = self.chance.random_range(0..self.athletes.len());
        self.athletes[at].clone()
    }

    /// One of these paths, taken out where it is to be deleted.
    fn one(chance: &mut ChaCha20Rng, of: &mut Vec<String>, deleted: bool) -> Option<String> {
        if of.is_empty() {
            return None;
        }
        let at = chance.random_range(0..of.len());
        Some(if deleted {
            of.swap_remove(at)
        } else {
            of[at].clone()
        })
    }

    /// A write of some kind; it is accepted, or refused for what it asks for.
    async fn write(&mut self) {
        let (day, athlete) = (self.day(), self.athlete());
        let minutes = self.chance.random_range(30..120);
        match self.chance.random_range(0..20) {
            0..3 => {
                let hour = self.chance.random_range(8..20);
                let body = json!({ "athlete_id": athlete, "started_at": format!("{day}T{hour:02}:00:00+02:00"), "minutes": minutes,
                    "rpe": 5, "setting": "club", "kind": "practice" });
                let answer = self.app.post("sessions", body).await;
                keep(&mut self.made.sessions, "sessions", &answer, "session_id");
            }
            3 => {
                let squad = self.chance.random_range(0..self.squads.len());
                let body = json!({ "setting": "club", "kind": "practice", "starts_at": format!("{day}T17:00:00+02:00"),
                    "minutes": minutes, "squads": [self.squads[squad].id()] });
                let answer = self.app.post("events", body).await;
                keep(&mut self.made.events, "events", &answer, "event_id");
            }
            4 => {
                let answer = self
                    .app
                    .post("rest-days", json!({ "athlete_id": athlete, "date": day }))
                    .await;
                keep(
                    &mut self.made.rest_days,
                    "rest-days",
                    &answer,
                    "rest_day_id",
                );
            }
            5 => {
                let body =
                    json!({ "athlete_id": athlete, "from": day, "to": day, "category": "holiday" });
                let answer = self.app.post("absences", body).await;
                keep(&mut self.made.absences, "absences", &answer, "absence_id");
            }
            6 => {
                if let Some(path) = Self::one(&mut self.chance, &mut self.made.sessions, false) {
                    self.app
                        .patch(path, json!({ "minutes": minutes }))
                        .if_match("*")
                        .await;
                }
            }
            7 => {
                if let Some(path) = Self::one(&mut self.chance, &mut self.made.events, false) {
                    self.app
                        .patch(path, json!({ "minutes": minutes, "status": "moved" }))
                        .if_match("*")
                        .await
                        .expect(200);
                }
            }
            8 => {
                let of = match self.chance.random_range(0..3) {
                    0 => &mut self.made.events,
                    1 => &mut self.made.rest_days,
                    _ => &mut self.made.absences,
                };
                if let Some(path) = Self::one(&mut self.chance, of, true) {
                    self.app.delete(path).if_match("*").await.expect(204);
                }
            }
            9 => {
                let event = Self::one(&mut self.chance, &mut self.made.events, false);
                if let Some(event) = event
                    .as_deref()
                    .and_then(|path| path.strip_prefix("events/"))
                {
                    let body = json!({ "event_id": event, "athlete_id": athlete, "status": "present", "minutes": minutes });
                    let answer = self.app.post("attendance", body).await;
                    keep(
                        &mut self.made.attendance,
                        "attendance",
                        &answer,
                        "attendance_id",
                    );
                }
            }
            10 => {
                if let Some(path) = Self::one(&mut self.chance, &mut self.made.sessions, true) {
                    let reason = r#"{"reason": "entered twice"}"#;
                    self.app
                        .delete(path)
                        .if_match("*")
                        .body("application/json", reason)
                        .await
                        .expect(204);
                }
            }
            11 => {
                if let Some(path) = Self::one(&mut self.chance, &mut self.made.attendance, true) {
                    self.app.delete(path).if_match("*").await;
                }
            }
            12 => {
                let squad = self.chance.random_range(0..self.squads.len());
                let path = format!("squads/{}", self.squads[squad].id());
                self.app
                    .patch(path, json!({ "name": format!("Squad {minutes}") }))
                    .if_match("*")
                    .await
                    .expect(200);
            }
            13 => {
                if let Some(path) = Self::one(&mut self.chance, &mut self.made.sessions, false) {
                    let counted = json!({ "throws": minutes, "basis": "counted" });
                    let put = || self.app.put(format!("{path}/contacts"), counted.clone());
                    if put().await.status == 428 {
                        put().if_match("*").await.expect(200);
                    }
                }
            }
            14 => {
                if let Some(path) = Self::one(&mut self.chance, &mut self.made.events, false) {
                    let path = format!("{path}/warm-up");
                    let held = json!({ "minutes": minutes.min(20), "categories": ["jump"], "feedback": true });
                    let put = || self.coach.put(&path, held.clone());
                    if self.chance.random_bool(0.3) {
                        self.coach.delete(&path).if_match("*").await;
                    } else if put().await.status == 428 {
                        put().if_match("*").await.expect(200);
                    }
                }
            }
            15 => self.programme(minutes).await,
            16 => self.assignment(&athlete).await,
            17 => self.question().await,
            18 => {
                // A deleted event comes back under its id.
                let known = self
                    .app
                    .get("changes")
                    .query("limit", 500)
                    .await
                    .expect(200);
                let gone = known["items"].as_array().expect("items").iter();
                let gone = gone.filter(|one| one["kind"] == "event" && one["deleted"] == true);
                if let Some(id) = gone.filter_map(|one| one["id"].as_str()).next() {
                    let body = json!({ "setting": "club", "kind": "practice", "starts_at": format!("{day}T18:00:00+02:00"),
                        "minutes": minutes, "squads": [self.squads[0].id()] });
                    let path = format!("events/{id}");
                    let put = self.app.put(&path, body).if_match("*").await;
                    if put.status < 300 {
                        self.made.events.push(path);
                    }
                }
            }
            _ => {
                let path = format!("athletes/{athlete}");
                let name = format!("Player {minutes}");
                self.app
                    .patch(path, json!({ "display_name": name }))
                    .if_match("*")
                    .await
                    .expect(200);
            }
        }
    }
}

impl Play {
    /// What the writes by chance go on from.
    async fn prepare(&mut self) {
        for squad in &self.squads {
            let body = json!({ "setting": "club", "kind": "practice", "starts_at": "2026-10-14T17:00:00+02:00", "minutes": 90,
                "squads": [squad.id()] });
            let event = self.app.post("events", body).await;
            keep(&mut self.made.events, "events", &event, "event_id");
        }
        for athlete in &self.athletes {
            let body = json!({ "athlete_id": athlete, "started_at": "2026-10-15T17:00:00+02:00", "minutes": 60, "rpe": 5,
                "setting": "club", "kind": "practice" });
            let session = self.app.post("sessions", body).await;
            keep(&mut self.made.sessions, "sessions", &session, "session_id");
        }
        self.programme(45).await;
    }

    /// Enters, changes or removes a programme.
    async fn programme(&mut self, minutes: i32) {
        let body = json!({ "name": format!("Half a year {minutes}"), "blocks": [{ "name": "One", "weeks": [{ "days": [{ "day": "tuesday",
            "sessions": [{ "setting": "prescribed_home", "kind": "strength", "minutes": minutes, "intended_rpe": 5,
                "items": [{ "exercise": "squat", "sets": 3, "reps": 10 }] }] }] }] }] });
        let deleted = self.chance.random_bool(0.3);
        match Self::one(&mut self.chance, &mut self.made.programmes, deleted) {
            Some(path) if deleted => {
                // Refused while somebody does it.
                if self.coach.delete(&path).if_match("*").await.status != 204 {
                    self.made.programmes.push(path);
                }
            }
            Some(path) if self.chance.random_bool(0.5) => {
                self.coach.put(path, body).if_match("*").await.expect(200);
            }
            _ => {
                let made = self.coach.post("programmes", body).await;
                keep(
                    &mut self.made.programmes,
                    "programmes",
                    &made,
                    "programme_id",
                );
                keep(
                    &mut self.made.all_programmes,
                    "programmes",
                    &made,
                    "programme_id",
                );
            }
        }
    }

    /// Assigns a programme in the past, to a squad or an athlete, or takes that back.
    async fn assignment(&mut self, athlete: &str) {
        if self.chance.random_bool(0.3) {
            if let Some(path) = Self::one(&mut self.chance, &mut self.made.assignments, true) {
                self.coach.delete(path).if_match("*").await.expect(204);
            }
            return;
        }
        let Some(programme) = Self::one(&mut self.chance, &mut self.made.programmes, false) else {
            return;
        };
        let id = uuid_of(&mut self.chance);
        let path = format!("{programme}/assignments/{id}");
        let monday = ["2026-09-07", "2026-09-14", "2026-12-28"][self.chance.random_range(0..3)];
        let whom = match self.chance.random_bool(0.5) {
            true => json!({ "athlete_id": athlete, "from": monday }),
            false => json!({ "squad_id": self.squads[0].id(), "from": monday }),
        };
        if self.coach.put(&path, whom).await.status == 201 {
            self.made.assignments.push(path);
        }
    }

    /// Asks, answers, closes or opens a question.
    async fn question(&mut self) {
        let hurts = self.chance.random_bool(0.5);
        if let (true, Some(path)) = (
            self.chance.random_bool(0.5),
            Self::one(&mut self.chance, &mut self.made.questions, false),
        ) {
            let patch = match self.chance.random_range(0..3) {
                0 => json!({ "reply": "Both legs." }),
                1 => json!({ "is_open": false }),
                _ => json!({ "is_open": true, "reply": null }),
            };
            self.coach
                .patch(path, patch)
                .if_match("*")
                .await
                .expect(200);
            return;
        }
        let Some(session) = Self::one(&mut self.chance, &mut self.made.sessions, false) else {
            return;
        };
        let logged = self.app.get(&session).await;
        let Some(athlete) = logged["athlete_id"].as_str() else {
            return;
        };
        let about = json!({ "session_id": session.strip_prefix("sessions/") });
        let body = json!({ "text": "Both legs?", "hurts": hurts, "about": about });
        let path = format!("athletes/{athlete}/questions");
        let asked = self.guardian.post(path, body).await;
        keep(&mut self.made.questions, "questions", &asked, "question_id");
    }
}

/// An id of version 7 by chance.
fn uuid_of(chance: &mut ChaCha20Rng) -> String {
    let low: u64 = chance.random_range(0..1 << 48);
    format!("0199a1b2-7c3d-7e4f-8a5b-{low:012x}")
}

fn keep(of: &mut Vec<String>, list: &str, answer: &e2e::Answer, id: &str) {
    if answer.status == 201 {
        of.push(format!("{list}/{}", answer.string(id)));
    }
}

/// Plays one history, and says of which kinds of changes its copy was told.
async fn play(server: &mut Server, seed: u64) -> BTreeSet<String> {
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squads = vec![club.squad("U16").await, club.squad("U18").await];
    let mut athletes = Vec::new();
    for (number, squad) in squads.iter().cycle().take(4).enumerate() {
        athletes.push(squad.athlete(&format!("P-{number}")).await);
    }
    let guardian = club.as_guardian_of(&athletes.iter().collect::<Vec<_>>());
    let athletes = athletes.iter().map(|one| one.id().to_owned()).collect();
    let app = club.as_role("integration");
    let mut play = Play {
        chance: ChaCha20Rng::seed_from_u64(seed),
        app: app.clone(),
        coach: club.as_role("strength_coach"),
        guardian,
        squads,
        athletes,
        made: Made::default(),
    };
    play.prepare().await;
    let mut copy = Copy::default();
    for _ in 0..play.chance.random_range(3..6) {
        for _ in 0..play.chance.random_range(4..20) {
            play.write().await;
        }
        if play.chance.random_bool(0.2) {
            server.kill();
            server.restart().await;
        }
        let limit = play.chance.random_range(1..8);
        copy.follow(&app, limit).await;
    }
    server.close_week("2026-W44");
    let erased = play.athlete();
    let reason = json!({ "reason": "left" });
    let lead = club.as_role("privacy_lead");
    lead.post(format!("athletes/{erased}/erasure"), reason)
        .await
        .expect(200);
    copy.follow(&app, 3).await;
    let held = held(&app, &club, &play.squads, &play.made.all_programmes).await;
    let differ =
        |of: &BTreeMap<String, Value>, other: &BTreeMap<String, Value>| -> Vec<(String, Value)> {
            let differing = of
                .iter()
                .filter(|(href, record)| other.get(*href) != Some(record));
            differing
                .map(|(href, record)| (href.clone(), record.clone()))
                .collect()
        };
    let (copied, true_ones) = (differ(&copy.records, &held), differ(&held, &copy.records));
    assert_eq!(
        copied, true_ones,
        "seed {seed}: the copy, and what the club holds"
    );
    copy.kinds
}

on_both_databases! {
    async fn a_copy_that_follows_is_what_the_club_holds(database: Database) {
        let mut server = Server::start(database).await;
        let mut kinds = BTreeSet::new();
        for seed in 0..histories() {
            kinds.extend(play(&mut server, seed as u64).await);
        }
        for kind in ["event_warm_up", "programme", "programme_assignment", "question", "session_contacts", "erasure"] {
            assert!(kinds.contains(kind), "no {kind} among {kinds:?}");
        }
    }
}
