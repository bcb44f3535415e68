//! Sandboxes as they are answered.

use std::time::Duration;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use super::make::Made;
use super::{IN_ALL, KEPT, Sandbox};
use crate::auth::Role;
use crate::demo;
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::write::KeptKey;
use crate::web::reply::Reply;

/// Tokens outlast the clock however far it is moved; what ends them is the sandbox's end.
const LIFETIME: Duration = Duration::from_secs(2 * IN_ALL.as_secs().unsigned_abs());

/// A sandbox that was made, with all that it is entered with.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "sandbox_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "club_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b",
    "name": "Havneby Handball", "seed": 7, "date": "2026-11-25", "now": "2026-11-25T06:00:00Z",
    "made_at": "2026-11-30T09:12:44Z", "until": "2026-12-07T09:12:44Z",
    "tokens": [{"role": "coach", "token": "eyJ0eXAiOiJhdCtqd3QiLCJhbGciOiJFZERTQSJ9.e30.c2lnbmF0dXJl"}],
    "suggestions": [{"what": "The coach reads the week.", "role": "coach", "method": "GET",
        "href": "/v1/clubs/0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b/squads/0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a2c/weeks/2026-W47"}]}))]
pub struct SandboxAnswer {
    /// Its id.
    sandbox_id: ClubId,
    /// Its club's id, which is the same.
    club_id: ClubId,
    /// Its club's name as it was made.
    name: &'static str,
    /// Its seed.
    seed: u32,
    /// The date on which its clock began.
    date: Date,
    /// What its clock shows.
    now: Timestamp,
    /// When it was made.
    made_at: Timestamp,
    /// When it ends, with all that is in it, or with the service before.
    until: Timestamp,
    /// One a role; they are told here alone, are good for this sandbox alone, and end with it.
    tokens: Vec<SandboxToken>,
    /// What there is to try.
    suggestions: Vec<Suggestion>,
}

/// A sandbox.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "sandbox_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "club_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b",
    "name": "Havneby Handball", "seed": 7, "date": "2026-11-25", "now": "2026-11-25T06:00:00Z",
    "made_at": "2026-11-30T09:12:44Z", "until": "2026-12-07T09:12:44Z"}))]
pub struct SandboxSummary {
    /// Its id.
    pub(super) sandbox_id: ClubId,
    /// Its club's id, which is the same.
    club_id: ClubId,
    /// Its club's name as it was made.
    name: &'static str,
    /// Its seed.
    seed: u32,
    /// The date on which its clock began.
    date: Date,
    /// What its clock shows.
    now: Timestamp,
    /// When it was made.
    pub(super) made_at: Timestamp,
    /// When it ends, with all that is in it, or with the service before.
    until: Timestamp,
}

/// A token of a sandbox.
#[derive(Debug, Serialize, ToSchema)]
pub struct SandboxToken {
    /// The role.
    role: &'static str,
    /// The token, to be sent as `Authorization: Bearer …`.
    token: String,
}

/// A call to try.
#[derive(Debug, Serialize, ToSchema)]
pub struct Suggestion {
    /// What it does.
    what: &'static str,
    /// Whose token it takes.
    role: &'static str,
    /// The method.
    method: &'static str,
    /// The path, with the query where there is one.
    href: String,
}

impl SandboxSummary {
    pub(super) fn of(sandbox: &Sandbox) -> Self {
        Self {
            sandbox_id: sandbox.id,
            club_id: sandbox.id,
            name: sandbox.name,
            seed: sandbox.wanted.seed,
            date: sandbox.wanted.date,
            now: sandbox.app.clock.now(),
            made_at: sandbox.made_at,
            until: sandbox.until,
        }
    }
}

impl SandboxAnswer {
    /// Makes a sandbox of what was made for it, with the answer. The key that signs the tokens ends here.
    pub(super) fn of(made: Made, made_at: Timestamp) -> Result<(Sandbox, Self), Problem> {
        let tokens = tokens(&made)?;
        let suggestions = suggestions(&made);
        let sandbox = Sandbox {
            id: made.club.club_id,
            app: made.app,
            wanted: made.wanted,
            name: made.club.name,
            made_at,
            until: made_at + KEPT,
            answer: None,
            _folder: made.folder,
        };
        let SandboxSummary {
            sandbox_id,
            club_id,
            name,
            seed,
            date,
            now,
            made_at,
            until,
        } = SandboxSummary::of(&sandbox);
        let answer = Self {
            sandbox_id,
            club_id,
            name,
            seed,
            date,
            now,
            made_at,
            until,
            tokens,
            suggestions,
        };
        Ok((sandbox, answer))
    }
}

impl Sandbox {
    /// Keeps the answer for whoever sends the key again.
    pub(super) fn answered(mut self, answer: Option<(KeptKey, Reply)>) -> Self {
        self.answer = answer;
        self
    }
}

/// All roles but the operator's: nobody makes clubs in a sandbox.
fn tokens(made: &Made) -> Result<Vec<SandboxToken>, Problem> {
    let roles = Role::ALL.into_iter().filter(|role| *role != Role::Operator);
    roles
        .map(|role| {
            let token = demo::token(&made.app, &made.key, &made.club, role, LIFETIME);
            Ok(SandboxToken {
                role: role.code(),
                token: token.map_err(|error| Problem::internal(&error))?,
            })
        })
        .collect()
}

fn suggestions(made: &Made) -> Vec<Suggestion> {
    let club = format!("/v1/clubs/{}", made.club.club_id);
    let (squad, athlete, _) = made.club.example;
    let week = made.club.week;
    let suggestion = |what, role: Role, method, path: String| Suggestion {
        what,
        role: role.code(),
        method,
        href: format!("{club}/{path}"),
    };
    let (coach, trainer) = (Role::Coach, Role::AthleticTrainer);
    vec![
        suggestion(
            "Read the week: who needs a decision.",
            coach,
            "GET",
            format!("squads/{squad}/weeks/{week}"),
        ),
        suggestion(
            "Read one athlete's weeks.",
            trainer,
            "GET",
            format!("athletes/{athlete}/weeks"),
        ),
        suggestion(
            "Read one athlete's history.",
            trainer,
            "GET",
            format!("athletes/{athlete}/history?purpose=screening"),
        ),
        suggestion(
            "See who read whose record.",
            Role::PrivacyLead,
            "GET",
            "audit".to_owned(),
        ),
        suggestion(
            "Follow what changes.",
            Role::Integration,
            "GET",
            "changes".to_owned(),
        ),
        suggestion(
            "Log a session.",
            Role::Integration,
            "POST",
            "sessions".to_owned(),
        ),
        suggestion(
            "Move the clock: weeks are closed on the way.",
            Role::Integration,
            "PUT",
            "clock".to_owned(),
        ),
    ]
}
