//! Plans before they are done: judged by the club's limits, and changed as little as possible. Nothing of it is stored.

pub mod changes;
pub mod check;
pub mod history;
pub mod input;
pub mod limit;
pub mod sessions;
pub mod stored;
mod typed;
mod when;
pub mod words;

use jiff::Timestamp;
use jiff::civil::Date;
use tokio::task::spawn_blocking;

use self::history::{OwnPlan, PlanAthlete, Reference};
use self::input::{HistoryInput, LimitInput, PlanInput};
use self::limit::{AskedLimit, JudgedBy};
use self::sessions::NamedPlan;
use self::stored::StoredPlan;
use super::as_of::{self, AsOf};
use super::fields::Faults;
use super::local_time;
use super::policy::Policies;
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::{Conn, Known, Tenant};

/// What both questions about a plan have in common, as it was sent.
#[derive(Debug, Clone, Copy)]
pub struct Given<'a> {
    /// The plan.
    pub plan: &'a PlanInput,
    /// The programme that it names.
    pub stored: Option<&'a StoredPlan>,
    /// A history that was typed.
    pub history: Option<&'a HistoryInput>,
    /// Or the athlete whose logged one counts.
    pub athlete_id: Option<&'a str>,
    /// Or the squad of which each athlete's does.
    pub squad_id: Option<&'a str>,
    /// A limit instead of the policy's.
    pub limit: Option<&'a LimitInput>,
    /// As of when.
    pub as_of: Option<&'a str>,
}

/// The same, checked.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The plan.
    pub plan: NamedPlan,
    /// The programme in it.
    pub stored: Option<StoredPlan>,
    /// What it follows.
    pub reference: Reference,
    /// A limit instead of the policy's.
    pub limit: Option<AskedLimit>,
    /// As of when.
    pub as_of: Option<Timestamp>,
}

impl Asked {
    /// Checks what was sent, and collects every fault.
    pub fn check(given: Given<'_>, faults: &mut Faults) -> Option<Self> {
        let plan = NamedPlan::check(given.plan, given.stored, faults);
        let monday = plan.as_ref().map(|plan| plan.plan.first().monday());
        let reference = Reference::check(given, monday, faults);
        let limit = given.limit.map(|limit| limit.check(faults));
        let instant = |text| local_time::instant("/as_of", text);
        let as_of = given.as_of.map(|text| faults.take(instant(text)));
        Some(Self {
            plan: plan?,
            stored: given.stored.cloned(),
            reference: reference?,
            limit: limit.map_or(Some(None), |limit| limit.map(Some))?,
            as_of: as_of.map_or(Some(None), |as_of| as_of.map(Some))?,
        })
    }
}

/// A plan with everything it is judged by: no database is needed any more.
#[derive(Debug, Clone)]
pub struct ReadyPlan {
    /// The plan.
    pub plan: NamedPlan,
    /// The rules.
    pub by: JudgedBy,
    /// Whom it is for; one without a name where the history was typed.
    pub athletes: Vec<PlanAthlete>,
    /// The state of knowledge.
    pub as_of: Timestamp,
}

/// Reads what a plan is judged by, and enters in the audit list whose histories were read.
pub async fn ready(
    app: &App,
    caller: &Caller,
    asked: Asked,
    action: &str,
) -> Result<ReadyPlan, Problem> {
    let (asking, instant) = (caller.clone(), asked.as_of);
    let read = move |conn: &mut Conn, as_of| read(conn, &asking, &asked, as_of);
    let ready = as_of::read(app, caller.tenant, instant, read).await;
    let ready = ready.map_err(in_body)?;
    let named = ready.athletes.iter().filter_map(|one| one.named.as_ref());
    let named = named.map(|(athlete_id, _)| *athlete_id);
    app.audit.record_shown(app, caller, action, named).await?;
    Ok(ready)
}

/// Works something out beside the threads that serve requests.
pub async fn worked_out<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    let done = spawn_blocking(work).await;
    done.map_err(|error| Problem::internal(&error))?
}

/// The instant stands in the body here.
fn in_body(mut problem: Problem) -> Problem {
    for fault in &mut problem.errors {
        fault.pointer = fault.pointer.replacen("?as_of", "/as_of", 1);
    }
    problem
}

/// Reads the policy and the histories: a query a table, whatever the number of athletes.
pub fn read(
    conn: &mut Conn,
    caller: &Caller,
    asked: &Asked,
    as_of: AsOf,
) -> Result<ReadyPlan, Problem> {
    let policies = Policies::read(conn, caller.tenant, as_of.known)?;
    let first = asked.plan.plan.first();
    let mut athletes = history::read(conn, caller, (&asked.reference, first), as_of, &policies)?;
    add_changes(conn, caller.tenant, (&mut athletes, asked), as_of.known)?;
    Ok(ReadyPlan {
        by: JudgedBy::of(policies.at(first.sunday()), asked.limit, first.monday())?,
        plan: asked.plan.clone(),
        athletes,
        as_of: as_of.at(),
    })
}

/// Gives each athlete the plan as it is for her, where she has changes of the programme in it.
fn add_changes(
    conn: &mut Conn,
    tenant: Tenant,
    (athletes, asked): (&mut [PlanAthlete], &Asked),
    known: Known,
) -> Result<(), Problem> {
    let Some(stored) = &asked.stored else {
        return Ok(());
    };
    let named = athletes.iter().filter_map(|one| one.named.as_ref());
    let ids: Vec<AthleteId> = named.map(|(id, _)| *id).collect();
    let plan = &asked.plan;
    let dates = (plan.plan.first().monday(), plan.last().sunday());
    let mut changes = stored.changes(conn, tenant, &ids, (dates, known))?;
    for athlete in athletes {
        let theirs = athlete.named.as_ref().map(|(id, _)| *id);
        let Some(theirs) = theirs.and_then(|id| changes.remove(&id)) else {
            continue;
        };
        let sessions = stored.sessions(plan.plan.first(), &theirs);
        let sessions = sessions.map_err(Problem::field)?;
        let own = plan.with(sessions);
        athlete.own = Some(OwnPlan {
            plan: own.map_err(|error| Problem::internal(&error))?,
            changes: theirs.count(),
        });
    }
    Ok(())
}

/// The day before another.
fn day_before(date: Date) -> Result<Date, Problem> {
    date.yesterday().map_err(|error| Problem::internal(&error))
}

#[cfg(test)]
mod tests;
