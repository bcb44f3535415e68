//! Taking over what was fetched, and when the next try is due.

use jiff::{SignedDuration, Timestamp};
use serde::Serialize;
use utoipa::ToSchema;

use super::body::PullCounts;
use super::fetch::{Failure, Fetched, Roster};
use super::problem::{PullProblem, PullProblemAnswer};
use super::settings::Settings;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::services::roster::Planned;
use crate::services::roster::answer::RosterAnswer;
use crate::services::write::Change;
use crate::store::Tenant;
use crate::store::roster_sources::{self, StoredRosterSource};

/// How long after a first failure a source is tried again; after each further one twice as long, at most its own time.
pub const FAILED_AGAIN: SignedDuration = SignedDuration::from_mins(15);
/// The longest wait that an app may ask for: a week.
const LONGEST_WAIT: u32 = 7 * 86_400;
/// What the service calls itself where it pulls by itself.
const JOB: &str = "roster-sources";

/// What a pull came to.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "dry_run": true, "outcome": "held",
    "problem": {"code": "large_removal", "what_to_do": "Look at the plan with …/pull?dry_run=true."},
    "roster": {"dry_run": true, "mode": "full", "source": "club-app", "rows": 1, "created": 0, "changed": 0, "unchanged": 1,
        "removed": 1, "rejected": 0, "leaving_judged": true, "squads": [], "athletes": [
            {"row": 1, "external_id": "P-07", "outcome": "unchanged", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b"},
            {"row": null, "external_id": "P-08", "outcome": "removed", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1c"}],
        "second_copies": []}}))]
pub struct PullAnswer {
    /// Whether nothing was stored because the call was a trial.
    pub dry_run: bool,
    /// `applied`, `unchanged` (the app says that it is the roster that was taken last), `held` (more than a fifth of the members would
    /// leave, and nobody has confirmed it) or `failed`. Held and failed change nothing.
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// Why it was held or failed.
    pub problem: Option<PullProblemAnswer>,
    /// What became of each row; null where none was taken. A trial shows it where the roster is held or none of its rows can be taken: what
    /// a confirmation would do, or what is wrong with the rows.
    pub roster: Option<RosterAnswer>,
}

/// How a roster is to be taken.
#[derive(Debug, Clone, Copy)]
pub struct How {
    /// Whether more than a fifth of the members may leave.
    pub confirm_large_removal: bool,
    /// Whether nothing is to be stored.
    pub dry_run: bool,
}

/// The service itself, pulling in the name of the source's client.
pub fn caller(tenant: Tenant, source: &StoredRosterSource, now: Timestamp) -> Caller {
    let mut caller = Caller::system(tenant, &source.client, now);
    JOB.clone_into(&mut caller.principal.subject);
    caller
}

/// Somebody who pulls by hand: it is still the roster of the source's client.
pub fn caller_as(mut caller: Caller, source: &StoredRosterSource) -> Caller {
    caller.principal.client.clone_from(&source.client);
    caller
}

/// Whether a source is still the one that was fetched: nobody has changed it, and nobody else has tried it.
pub fn is_as_fetched(current: &StoredRosterSource, fetched: &StoredRosterSource) -> bool {
    let standing =
        |one: &StoredRosterSource| (one.version, one.next_attempt_at, one.last_attempt_at);
    standing(current) == standing(fetched)
}

/// Takes over what was fetched, by the rules of a roster that is sent, and notes on the source how it went. What was not fetched whole
/// changes nothing else.
pub fn take(
    change: &mut Change<'_>,
    source: StoredRosterSource,
    fetched: Fetched,
    how: How,
) -> Result<PullAnswer, Problem> {
    let (tenant, now) = (change.tenant(), change.now());
    let mut next = StoredRosterSource {
        last_attempt_at: Some(now),
        ..source
    };
    let (outcome, roster) = match fetched {
        Fetched::Failed(failure) => (Err(failure), None),
        Fetched::Same => (Ok("unchanged"), None),
        Fetched::Roster(roster) => import(change, &mut next, *roster, how)?,
    };
    let answer = match outcome {
        Ok(outcome) => {
            succeeded(&mut next, now);
            (outcome, None)
        }
        Err(failure) => {
            failed(&mut next, failure, now);
            let is_held = failure.problem == PullProblem::LargeRemoval;
            let outcome = if is_held { "held" } else { "failed" };
            (outcome, Some(failure.problem.answer()))
        }
    };
    roster_sources::save(change.conn, tenant, &next)?;
    Ok(PullAnswer {
        dry_run: how.dry_run,
        outcome: answer.0,
        problem: answer.1,
        roster,
    })
}

type Imported = (Result<&'static str, Failure>, Option<RosterAnswer>);

fn import(
    change: &mut Change<'_>,
    next: &mut StoredRosterSource,
    fetched: Roster,
    how: How,
) -> Result<Imported, Problem> {
    let mode = Settings::of(next)?.plan()?.mode;
    let planned = Planned::new(change, &fetched.sent, mode)?;
    if let Some(problem) = refusal(&planned, how) {
        // A trial is undone, and shows what is wrong with the rows, or what a confirmation would do.
        let shown = how.dry_run.then(|| planned.apply(change, true));
        return Ok((Err(problem.into()), shown.transpose()?));
    }
    let answer = planned.apply(change, how.dry_run)?;
    let counts = PullCounts::of(&answer, fetched.pages);
    let counts_kept = serde_json::to_value(&counts).map_err(|error| Problem::internal(&error))?;
    next.last_counts = Some(counts_kept);
    // A row that was refused may be taken another day, when its squad is there: then the same document is read again.
    (next.etag, next.last_modified) = match counts.rejected {
        0 => fetched.validators,
        _ => (None, None),
    };
    Ok((Ok("applied"), Some(answer)))
}

/// Why a roster is not taken over at all.
fn refusal(planned: &Planned<'_>, how: How) -> Option<PullProblem> {
    if planned.takes_nobody() {
        return Some(PullProblem::AllRejected);
    }
    let is_held = planned.is_large_removal() && !how.confirm_large_removal;
    is_held.then_some(PullProblem::LargeRemoval)
}

/// Notes that a source that is due could not be worked on, so that it does not keep others waiting.
pub fn put_off(change: &mut Change<'_>, mut source: StoredRosterSource) -> Result<(), Problem> {
    let (tenant, now) = (change.tenant(), change.now());
    source.last_attempt_at = Some(now);
    failed(&mut source, PullProblem::NotApplied.into(), now);
    Ok(roster_sources::save(change.conn, tenant, &source)?)
}

fn succeeded(source: &mut StoredRosterSource, now: Timestamp) {
    source.last_success_at = Some(now);
    source.last_problem = None;
    source.failing_since = None;
    source.failures = 0;
    source.not_before = None;
    source.next_attempt_at = own_time(source).map(|time| now + time);
}

fn failed(source: &mut StoredRosterSource, failure: Failure, now: Timestamp) {
    source.last_problem = Some(failure.problem.code().to_owned());
    source.failing_since = source.failing_since.or(Some(now));
    source.failures = source.failures.saturating_add(1);
    if let Some(seconds) = failure.retry_after {
        let seconds = i64::from(seconds.min(LONGEST_WAIT));
        source.not_before = Some(now + SignedDuration::from_secs(seconds));
    }
    let again = own_time(source).map(|own| now + wait(failure.problem, source.failures, own));
    source.next_attempt_at = match failure.problem {
        // Whoever is refused and goes on asking is locked out.
        PullProblem::NotAuthorised => None,
        _ => again.map(|again| source.not_before.map_or(again, |time| time.max(again))),
    };
}

fn own_time(source: &StoredRosterSource) -> Option<SignedDuration> {
    let hours = source.every_hours?;
    Some(SignedDuration::from_hours(hours.into()))
}

/// How long until the next try. What only somebody can mend is tried at the source's own time.
fn wait(problem: PullProblem, failures: i32, own: SignedDuration) -> SignedDuration {
    if matches!(
        problem,
        PullProblem::LargeRemoval | PullProblem::AllRejected
    ) {
        return own;
    }
    let doublings = u32::try_from(failures.saturating_sub(1))
        .unwrap_or(0)
        .min(16);
    let wait = FAILED_AGAIN.checked_mul(1 << doublings).unwrap_or(own);
    wait.min(own)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_failure_waits_twice_as_long_and_never_longer_than_the_timetable() {
        let own = SignedDuration::from_hours(3);
        let minutes = |failures| wait(PullProblem::Refused, failures, own).as_mins();
        let waits: Vec<i64> = [0, 1, 2, 3, 4, 5, 6, i32::MAX].map(minutes).to_vec();
        assert_eq!(waits, [15, 15, 30, 60, 120, 180, 180, 180]);
        assert_eq!(wait(PullProblem::LargeRemoval, 1, own), own);
    }
}
