//! Results of physical tests: who measured what, on which side, when.

mod check;
mod input;

pub(super) use check::{past_date, side};
pub use input::{TestResultAnswer, TestResultInput};

use super::reach;
use super::write::Change;
use crate::auth::Role;
use crate::auth::tenant::Caller;
use crate::error::{Code, Problem};
use crate::ids::TestResultId;
use crate::store::test_results::{self, TestResult};
use crate::store::{self, Conn, Known, Versioned, Who};
use plimsoll_domain::test_trial::is_unusual;

/// Stores a result, unless the athlete has the same one already: then the one that is there
/// is answered. Says whether it is new.
pub fn enter(
    change: &mut Change<'_>,
    input: &TestResultInput,
) -> Result<(TestResultAnswer, bool), Problem> {
    let id = change.new_id();
    let result = check::checked(change, id, input)?;
    let earlier = readable_earlier(change, &result)?;
    let warnings = warnings(&result, &earlier);
    let same = earlier
        .into_iter()
        .find(|one| same_content(&one.content, &result));
    if let Some(same) = same {
        return Ok((TestResultAnswer::written(same, warnings), false));
    }
    Ok((store(change, result, warnings)?, true))
}

/// Stores a result under an id that is free.
pub fn insert(
    change: &mut Change<'_>,
    id: TestResultId,
    input: &TestResultInput,
) -> Result<TestResultAnswer, Problem> {
    let result = check::checked(change, id, input)?;
    let warnings = warnings(&result, &readable_earlier(change, &result)?);
    store(change, result, warnings)
}

fn store(
    change: &mut Change<'_>,
    result: TestResult,
    warnings: Vec<Code>,
) -> Result<TestResultAnswer, Problem> {
    let id = result.test_result_id;
    change.store_with(|conn, tenant, moment, author| {
        test_results::insert(conn, tenant, moment, author, &[result])
    })?;
    written(change, id, warnings)
}

/// Gives a result other content, or brings a removed one back; the same content changes nothing.
pub fn replace(
    change: &mut Change<'_>,
    current: Versioned<TestResult>,
    input: &TestResultInput,
) -> Result<TestResultAnswer, Problem> {
    let id = current.content.test_result_id;
    let result = check::replacing(change, &current.content, input)?;
    let earlier = readable_earlier(change, &result)?;
    let warnings = warnings(&result, &earlier);
    if result == current.content && !current.version.deleted {
        return Ok(TestResultAnswer::written(current, warnings));
    }
    let next = store::Change {
        replaces: current.version.number,
        content: result,
        deleted: false,
    };
    change.store_with(|conn, tenant, moment, author| {
        test_results::supersede(conn, tenant, moment, author, &[next])
    })?;
    written(change, id, warnings)
}

/// Takes a result back.
pub fn remove(change: &mut Change<'_>, current: Versioned<TestResult>) -> Result<(), Problem> {
    let tombstone = store::Change::tombstone(current);
    Ok(change.store_with(|conn, tenant, moment, author| {
        test_results::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

/// The undeleted result of an id that the caller may change.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: TestResultId,
) -> Result<Versioned<TestResult>, Problem> {
    let found = stored(conn, caller, id)?;
    found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)
}

/// What is stored under an id, removed or not; 404 where it is not the caller's to see.
pub fn stored(
    conn: &mut Conn,
    caller: &Caller,
    id: TestResultId,
) -> Result<Option<Versioned<TestResult>>, Problem> {
    let Some(found) = test_results::current(conn, caller.tenant, id)? else {
        return Ok(None);
    };
    let reached = reach::of(conn, caller)?.includes(found.content.athlete_id);
    if !reached || !is_open_to(caller, &found) {
        return Err(Problem::not_found());
    }
    Ok(Some(found))
}

/// A clinician sees every result; who only measures sees what she entered herself.
fn is_open_to(caller: &Caller, result: &Versioned<TestResult>) -> bool {
    let who = &caller.principal;
    who.role == Role::AthleticTrainer || result.version.author == who.subject
}

/// What the athlete came to before in the same test on the same side, as far as the caller may see it.
fn readable_earlier(
    change: &mut Change<'_>,
    result: &TestResult,
) -> Result<Vec<Versioned<TestResult>>, Problem> {
    let (tenant, athlete) = (change.tenant(), [result.athlete_id]);
    let who = Who::Athletes(&athlete);
    let all = test_results::until(change.conn, tenant, who, result.tested_on, Known::Now)?;
    let of_test = |one: &Versioned<TestResult>| {
        let same = (&one.content.test, one.content.side) == (&result.test, result.side);
        same && is_open_to(change.caller, one)
    };
    Ok(all.into_iter().filter(of_test).collect())
}

fn same_content(one: &TestResult, other: &TestResult) -> bool {
    let other_id = TestResult {
        test_result_id: one.test_result_id,
        ..other.clone()
    };
    *one == other_id
}

fn warnings(result: &TestResult, earlier: &[Versioned<TestResult>]) -> Vec<Code> {
    let others = earlier
        .iter()
        .filter(|one| one.content.test_result_id != result.test_result_id);
    let before: Vec<_> = others
        .flat_map(|one| one.content.trials.all())
        .copied()
        .collect();
    let unusual = |trial| is_unusual(&before, trial);
    match result.trials.all().iter().copied().any(unusual) {
        true => vec![Code::UnlikeOwnHistory],
        false => Vec::new(),
    }
}

fn written(
    change: &mut Change<'_>,
    id: TestResultId,
    warnings: Vec<Code>,
) -> Result<TestResultAnswer, Problem> {
    let tenant = change.tenant();
    let stored = test_results::current(change.conn, tenant, id)?.ok_or_else(Problem::not_found)?;
    Ok(TestResultAnswer::written(stored, warnings))
}
