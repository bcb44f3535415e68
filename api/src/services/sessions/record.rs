//! Storing checked reports: new, a new version, or unchanged by their natural key.

use std::collections::HashMap;

use plimsoll_domain::GivenBy;

use super::draft::{Draft, Entry};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::SessionId;
use crate::services::write::Change;
use crate::store::sessions::{self, Session};
use crate::store::{self, Private, Versioned};

/// What became of one report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Stored, as the first or as a new version.
    Accepted,
    /// The same content was there already.
    Unchanged,
}

/// A report named by its id.
#[derive(Debug, Clone)]
pub struct Target {
    /// The id.
    pub id: SessionId,
    /// What is stored under it.
    pub current: Option<Versioned<Session>>,
}

/// One report after it was stored.
#[derive(Debug, Clone)]
pub struct Recorded {
    /// What became of it.
    pub outcome: Outcome,
    /// Its current content.
    pub session: Session,
    /// Its current version.
    pub version: i32,
    /// When that version was received.
    pub received_at: jiff::Timestamp,
    /// The content it had before, where it changed.
    pub before: Option<Session>,
}

/// The current state of one natural key, while a batch is worked through.
#[derive(Debug, Clone)]
struct Current {
    session: Session,
    version: i32,
    received_at: jiff::Timestamp,
    deleted: bool,
}

impl From<Versioned<Session>> for Current {
    fn from(stored: Versioned<Session>) -> Self {
        Self {
            session: stored.content,
            version: stored.version.number,
            received_at: stored.version.received_at,
            deleted: stored.version.deleted,
        }
    }
}

/// Stores reports one after the other, writing in batches.
pub struct Recorder<'a, 'b> {
    change: &'a mut Change<'b>,
    source: String,
    entry: Entry,
    known: HashMap<String, Current>,
    new_ids: HashMap<String, SessionId>,
    inserts: Vec<Session>,
    changes: Vec<store::Change<Session>>,
}

impl<'a, 'b> Recorder<'a, 'b> {
    /// A recorder for these drafts: their natural keys within the source are looked up in one go.
    pub fn new<'d>(
        change: &'a mut Change<'b>,
        source: String,
        entry: Entry,
        drafts: impl Iterator<Item = &'d Draft>,
    ) -> Result<Self, Problem> {
        let keys: Vec<String> = drafts.map(Draft::natural_key).collect();
        let stored = sessions::by_natural_keys(change.conn, change.tenant(), &source, &keys)?;
        let known = stored
            .into_iter()
            .map(|one| (one.content.natural_key.clone(), one.into()))
            .collect();
        Ok(Self {
            change,
            source,
            entry,
            known,
            new_ids: HashMap::new(),
            inserts: Vec::new(),
            changes: Vec::new(),
        })
    }

    /// Ties a draft to a report by its id rather than by its natural key.
    ///
    /// # Errors
    /// When the natural key belongs to another report.
    pub fn pin(&mut self, draft: &Draft, target: Target) -> Result<(), FieldProblem> {
        let key = draft.natural_key();
        let taken = self
            .known
            .get(&key)
            .is_some_and(|one| one.session.session_id != target.id);
        if taken {
            let given = draft.external_id.clone().unwrap_or_default();
            return Err(FieldProblem::new("/external_id", Code::IdTaken, given));
        }
        match target.current {
            Some(current) => self.known.insert(key, current.into()).map(drop),
            None => self.new_ids.insert(key, target.id).map(drop),
        };
        Ok(())
    }

    /// Takes one draft. What is wrong with it beside its own fields comes back as its problem.
    pub fn take(&mut self, draft: &Draft) -> Result<Result<Recorded, FieldProblem>, Problem> {
        let key = draft.natural_key();
        match self.known.get(&key).cloned() {
            None => {
                let id = self
                    .new_ids
                    .get(&key)
                    .copied()
                    .unwrap_or_else(|| self.change.new_id());
                Ok(Ok(self.insert(key, session(draft, id, &self.source))))
            }
            Some(current) => self.replace(key, current, draft),
        }
    }

    /// The undeleted report that a draft would replace.
    pub fn replaced_by(&self, draft: &Draft) -> Option<&Session> {
        let current = self.known.get(&draft.natural_key())?;
        (!current.deleted).then_some(&current.session)
    }

    fn insert(&mut self, key: String, session: Session) -> Recorded {
        self.inserts.push(session.clone());
        self.remember(key, session, 1, None)
    }

    fn replace(
        &mut self,
        key: String,
        current: Current,
        draft: &Draft,
    ) -> Result<Result<Recorded, FieldProblem>, Problem> {
        let next = next_content(&current.session, draft, &self.source);
        if !current.deleted && same_content(&current.session, &next) {
            return Ok(Ok(Recorded {
                outcome: Outcome::Unchanged,
                session: current.session,
                version: current.version,
                received_at: current.received_at,
                before: None,
            }));
        }
        if let Err(problem) = may_replace(&current.session, &next, draft, self.entry) {
            return Ok(Err(problem));
        }
        let waiting = |session: &Session| session.session_id == next.session_id;
        if self.inserts.iter().any(waiting)
            || self.changes.iter().any(|change| waiting(&change.content))
        {
            // Two versions of one report in one batch: the first must be stored before the second.
            self.flush()?;
        }
        self.changes.push(store::Change {
            replaces: current.version,
            content: next.clone(),
            deleted: false,
        });
        let before = (!current.deleted).then_some(current.session);
        Ok(Ok(self.remember(key, next, current.version + 1, before)))
    }

    fn remember(
        &mut self,
        key: String,
        session: Session,
        version: i32,
        before: Option<Session>,
    ) -> Recorded {
        let received_at = self.change.at();
        let current = Current {
            session: session.clone(),
            version,
            received_at,
            deleted: false,
        };
        self.known.insert(key, current);
        Recorded {
            outcome: Outcome::Accepted,
            session,
            version,
            received_at,
            before,
        }
    }

    /// Writes what is waiting.
    pub fn flush(&mut self) -> Result<(), Problem> {
        let (inserts, changes) = (
            std::mem::take(&mut self.inserts),
            std::mem::take(&mut self.changes),
        );
        self.change.store_with(|conn, tenant, moment, author| {
            sessions::insert(conn, tenant, moment, author, &inserts)?;
            sessions::supersede(conn, tenant, moment, author, &changes)
        })?;
        Ok(())
    }
}

/// The row of a draft.
fn session(draft: &Draft, session_id: SessionId, source: &str) -> Session {
    Session {
        session_id,
        athlete_id: draft.athlete_id,
        source: source.to_owned(),
        natural_key: draft.natural_key(),
        external_id: draft.external_id.clone(),
        event_external_id: draft.event_external_id.clone(),
        started_at: draft.start.at,
        utc_offset_seconds: draft.start.offset.seconds(),
        time_zone: draft.start.zone_name.clone(),
        load_date: draft.start.date,
        minutes: draft.minutes.get().into(),
        minutes_before_midnight: draft
            .minutes_before_midnight()
            .map(|minutes| minutes.get().into()),
        rpe_half: draft.rpe.half_steps().into(),
        setting: draft.setting,
        kind: draft.kind,
        basis: draft.basis,
        given_at: draft.given_at,
        given_by: draft.given_by,
        note: draft.note.clone().map(Private::from),
        reason: draft.reason.clone().map(Private::from),
    }
}

/// The content after a report is sent again. Without `given_at` the rating keeps its time, or each
/// repetition would be a change.
fn next_content(current: &Session, draft: &Draft, source: &str) -> Session {
    let mut next = session(draft, current.session_id, source);
    if draft.given_at_assumed && next.rpe_half == current.rpe_half {
        next.given_at = current.given_at;
    }
    next
}

/// Whether two contents say the same; the reason for a change is not part of it.
fn same_content(current: &Session, next: &Session) -> bool {
    *current
        == Session {
            reason: current.reason.clone(),
            ..next.clone()
        }
}

/// What a new version may not do: come late without staff and a reason, move the report to another
/// athlete, or put another's rating in the place of the athlete's.
fn may_replace(
    current: &Session,
    next: &Session,
    draft: &Draft,
    entry: Entry,
) -> Result<(), FieldProblem> {
    entry.may_change(current.load_date, &draft.home, draft.reason.as_deref())?;
    if current.athlete_id != next.athlete_id {
        return Err(FieldProblem::new(
            "/athlete_id",
            Code::IdTaken,
            next.athlete_id.to_string(),
        ));
    }
    let weaker = standing(next.given_by) < standing(current.given_by);
    if weaker && current.rpe_half != next.rpe_half {
        let given = f64::from(next.rpe_half) / 2.0;
        return Err(
            FieldProblem::new("/rpe", Code::RatingNotReplaceable, given).allowed(format!(
                "the rating of the {} stays",
                current.given_by.code()
            )),
        );
    }
    Ok(())
}

/// Athlete before guardian before coach.
fn standing(given_by: GivenBy) -> u8 {
    match given_by {
        GivenBy::Athlete => 2,
        GivenBy::Guardian => 1,
        GivenBy::Coach => 0,
    }
}
