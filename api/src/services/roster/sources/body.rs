//! A roster source as it is sent and as it is answered.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use url::Url;
use utoipa::ToSchema;

use super::credentials::CredentialsInput;
use super::paging::PagingInput;
use super::problem::{PullProblem, PullProblemAnswer};
use super::settings::{PeoplePointers, Settings, SquadPointers};
use crate::error::Problem;
use crate::ids::RosterSourceId;
use crate::services::roster::answer::RosterAnswer;
use crate::store::roster_sources::StoredRosterSource;

/// A roster app that is pulled: where it is, how often, and where in its answer our fields are.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "name": "Members' register", "url": "https://register.example.org/api/people?club=7",
    "credentials": {"kind": "header", "name": "Authorization", "value": "Bearer 4f1c"},
    "every_hours": 24, "mode": "full", "paging": {"kind": "next_pointer", "pointer": "/links/next"},
    "people": {"list": "/people", "total": "/count", "external_id": "/id", "display_name": "/name", "birth_date": "/born",
        "memberships": {"list": "/teams", "squad_external_id": "/code", "squad_name": "/title"},
        "guardians": {"list": "/parents", "external_id": "/id"}}}))]
pub struct RosterSourceInput {
    /// What the club calls it, 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// Where the roster is: https, port 443 or 8443. It is kept sealed and never answered, for it may hold a password. Left out
    /// where it stays as it is.
    #[schema(max_length = 2048)]
    pub url: Option<String>,
    /// What the app asks for before it answers. It is kept sealed and never answered. Left out where it stays as it is; an address on
    /// another origin needs it anew.
    pub credentials: Option<CredentialsInput>,
    /// Hours between two pulls, 1 to 168; left out where it is pulled by hand alone.
    #[schema(minimum = 1, maximum = 168)]
    pub every_hours: Option<i64>,
    /// full: everybody is named, and memberships of who is not end with the day before. delta: what changed.
    #[schema(value_type = String, pattern = "^(full|delta)$")]
    pub mode: Option<String>,
    /// How the app hands out a roster in pages; left out where it is one document.
    pub paging: Option<PagingInput>,
    /// Where the people are, and where in one of them our fields are, as JSON Pointers (RFC 6901).
    #[schema(value_type = PeoplePointers)]
    pub people: Option<PeoplePointers>,
    /// Where the squads are, where the document has a list of its own of them.
    pub squads: Option<SquadPointers>,
}

/// A roster source.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "source_id": "0199a1b2-bbbb-7e4f-8a5b-6c7d8e9f0a1b", "version": 1, "name": "Members' register", "source": "club-app",
    "host": "register.example.org", "has_credentials": true, "every_hours": 24, "mode": "full",
    "paging": {"kind": "next_pointer", "pointer": "/links/next"},
    "people": {"list": "/people", "external_id": "/id", "display_name": "/name",
        "memberships": {"list": "/teams", "squad_external_id": "/code", "squad_name": "/title"}},
    "squads": null, "next_attempt_at": "2026-10-02T04:00:00Z", "not_before": null, "last_attempt_at": "2026-10-01T04:00:00Z",
    "last_success_at": "2026-10-01T04:00:00Z", "failing_since": null, "last_problem": null,
    "last_counts": {"pages": 2, "rows": 120, "created": 1, "changed": 2, "unchanged": 117, "removed": 0, "rejected": 0}}))]
pub struct RosterSourceAnswer {
    /// Its id.
    pub source_id: RosterSourceId,
    /// 1, 2, 3, …; also the ETag. It grows with what somebody sets, not with a pull.
    pub version: i32,
    /// What the club calls it.
    pub name: String,
    /// The client whose roster it is, the one that set it up: external ids are its keys.
    pub source: String,
    /// The host that it is pulled from.
    pub host: Option<String>,
    /// Whether credentials are set. They are never answered.
    pub has_credentials: bool,
    /// Hours between two pulls; null while it is pulled by hand alone.
    pub every_hours: Option<i32>,
    /// full or delta.
    pub mode: String,
    /// How the app hands out a roster in pages; null for one document.
    pub paging: Option<PagingInput>,
    /// Where the people are, and where in one of them our fields are.
    pub people: PeoplePointers,
    /// Where the squads are; null without a list of their own.
    pub squads: Option<SquadPointers>,
    /// When it is pulled next by itself; null while it is not.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub next_attempt_at: Option<Timestamp>,
    /// Before when the app has asked not to be called.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub not_before: Option<Timestamp>,
    /// When it was last tried.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub last_attempt_at: Option<Timestamp>,
    /// When it was last pulled, with or without a change.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub last_success_at: Option<Timestamp>,
    /// Since when it cannot be pulled; the roster stays as it was.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub failing_since: Option<Timestamp>,
    /// Why the last try came to nothing; null where it did not.
    pub last_problem: Option<PullProblemAnswer>,
    /// What the last roster that was taken came to.
    pub last_counts: Option<PullCounts>,
}

/// What a roster that was pulled came to, in rows of athletes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PullCounts {
    /// On how many pages it came.
    pub pages: usize,
    /// Rows read.
    pub rows: usize,
    /// Rows of athletes who are new.
    pub created: usize,
    /// Rows of athletes of whom something changed.
    pub changed: usize,
    /// Rows that said what was known.
    pub unchanged: usize,
    /// Athletes who left.
    pub removed: usize,
    /// Rows refused.
    pub rejected: usize,
}

impl PullCounts {
    /// Of a roster that was taken.
    pub(super) fn of(answer: &RosterAnswer, pages: usize) -> Self {
        Self {
            pages,
            rows: answer.rows,
            created: answer.created,
            changed: answer.changed,
            unchanged: answer.unchanged,
            removed: answer.removed,
            rejected: answer.rejected,
        }
    }
}

impl RosterSourceInput {
    /// The part that is kept as one document.
    pub(super) fn settings(&self) -> Settings {
        Settings {
            mode: self.mode.clone(),
            paging: self.paging.clone(),
            people: self.people.clone(),
            squads: self.squads.clone(),
        }
    }
}

impl RosterSourceAnswer {
    /// The answer for a stored source.
    pub fn of(stored: StoredRosterSource) -> Result<Self, Problem> {
        let settings = Settings::of(&stored)?;
        let url = stored.url.as_ref().and_then(|url| Url::parse(url).ok());
        let problem = stored.last_problem.as_deref().and_then(PullProblem::parse);
        let counts = stored.last_counts.map(serde_json::from_value).transpose();
        Ok(Self {
            source_id: stored.source_id,
            version: stored.version,
            name: stored.name,
            source: stored.client,
            host: url.and_then(|url| url.host_str().map(str::to_owned)),
            has_credentials: stored.credentials.is_some(),
            every_hours: stored.every_hours,
            mode: settings.mode.unwrap_or_default(),
            paging: settings.paging,
            people: settings.people.unwrap_or_default(),
            squads: settings.squads,
            next_attempt_at: stored.next_attempt_at,
            not_before: stored.not_before,
            last_attempt_at: stored.last_attempt_at,
            last_success_at: stored.last_success_at,
            failing_since: stored.failing_since,
            last_problem: problem.map(PullProblem::answer),
            last_counts: counts.map_err(|error| Problem::internal(&error))?,
        })
    }
}
