//! Who read whose record: written and committed before the data leaves, and chained.
//!
//! A read waits for its own row. Rows that arrive while one commit is running share the next, so
//! that a busy hour costs few commits.

use std::collections::{BTreeMap, BTreeSet};

use futures_util::future::try_join_all;
use tokio::sync::{mpsc, oneshot};

use super::audit_chain::ChainKey;
use crate::auth::tenant::Caller;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, ClubId};
use crate::store::audit::{self, AuditRead};
use crate::store::{Clubs, Conn, Store, Tenant, whole_microsecond};
use crate::telemetry::request_id;

/// Rows that may share one commit.
const GROUP: usize = 256;

/// One read that is about to happen.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    /// Whose record.
    pub athlete: AthleteId,
    /// The operation, as in the OpenAPI document.
    pub action: &'a str,
    /// What for, where the caller said so.
    pub purpose: Option<&'a str>,
}

struct Waiting {
    tenant: Tenant,
    row: AuditRead,
    done: oneshot::Sender<Result<(), Problem>>,
}

/// Accepts audit rows and commits them in groups.
#[derive(Debug, Clone)]
pub struct AuditLog {
    rows: mpsc::Sender<Waiting>,
}

impl AuditLog {
    /// Starts the task that commits rows; it ends when the last log is dropped.
    pub fn start(store: Store, key: ChainKey) -> Self {
        let (rows, waiting) = mpsc::channel(GROUP);
        tokio::spawn(commit_groups(store, key, waiting));
        Self { rows }
    }

    /// Writes the row of one read. No audit, no data: an error here must end the request.
    pub async fn record(
        &self,
        app: &crate::app::App,
        caller: &Caller,
        reading: Reading<'_>,
    ) -> Result<(), Problem> {
        let athlete = Some(reading.athlete);
        self.row(
            app,
            caller,
            (athlete, reading.action, reading.purpose, "read"),
        )
        .await
    }

    /// Writes the row of a change that is about to be tried, of a setting that decides who sees what or of a clinician's record. No
    /// audit, no change.
    pub async fn record_change(
        &self,
        app: &crate::app::App,
        caller: &Caller,
        action: &str,
    ) -> Result<(), Problem> {
        self.row(app, caller, (None, action, None, "asked")).await
    }

    /// Writes the row of a request that the acting role has no right to. Whom it was about stays out: an id
    /// that was guessed says nothing.
    pub async fn record_refusal(
        &self,
        app: &crate::app::App,
        caller: &Caller,
        action: &str,
    ) -> Result<(), Problem> {
        self.row(app, caller, (None, action, None, "refused")).await
    }

    /// Writes one row: about whom, the action, what for, and what came of it.
    async fn row(
        &self,
        app: &crate::app::App,
        caller: &Caller,
        (athlete_id, action, purpose, outcome): (Option<AthleteId>, &str, Option<&str>, &str),
    ) -> Result<(), Problem> {
        let now = app.clock.now();
        let row = AuditRead {
            audit_id: app.ids.next(now).into(),
            // As it will be read back: the row's link is made from it.
            at: whole_microsecond(now),
            subject: caller.principal.subject.clone(),
            client: caller.principal.client.clone(),
            acting_role: caller.principal.role.code().to_owned(),
            purpose: purpose.map(str::to_owned),
            athlete_id,
            action: action.to_owned(),
            outcome: outcome.to_owned(),
            request_id: request_id(),
        };
        let (done, outcome) = oneshot::channel();
        let waiting = Waiting {
            tenant: caller.tenant,
            row,
            done,
        };
        self.rows.send(waiting).await.map_err(|_| stopped())?;
        outcome.await.map_err(|_| stopped())?
    }

    /// Writes the rows of one answer that shows several athletes' records: one for each athlete, however often she is in it.
    pub async fn record_shown(
        &self,
        app: &crate::app::App,
        caller: &Caller,
        action: &str,
        athletes: impl IntoIterator<Item = AthleteId>,
    ) -> Result<(), Problem> {
        let athletes: BTreeSet<AthleteId> = athletes.into_iter().collect();
        let rows = athletes.into_iter().map(|athlete| {
            let reading = Reading {
                athlete,
                action,
                purpose: None,
            };
            self.record(app, caller, reading)
        });
        try_join_all(rows).await.map(drop)
    }
}

fn stopped() -> Problem {
    Problem::new(
        Code::Busy,
        "The audit list cannot be written, so nothing is read.",
    )
    .retry_after(5)
}

/// Whether a row was stored or not, nothing has been read yet: the read may simply be asked again.
fn unwritten(problem: Problem) -> Problem {
    match problem.code {
        Code::OutcomeUnknown => stopped(),
        _ => problem,
    }
}

async fn commit_groups(store: Store, key: ChainKey, mut waiting: mpsc::Receiver<Waiting>) {
    let mut group = Vec::with_capacity(GROUP);
    while waiting.recv_many(&mut group, GROUP).await > 0 {
        let rows: Vec<_> = group
            .iter()
            .map(|one| (one.tenant, one.row.clone()))
            .collect();
        let key = key.clone();
        let outcome = store
            .write(Clubs::Every, move |conn| {
                let of_clubs = by_tenant(rows).into_iter();
                let mut appended = of_clubs.map(|(tenant, rows)| append(conn, tenant, &key, rows));
                appended.try_for_each(|done| done)
            })
            .await
            .map_err(unwritten);
        for one in group.drain(..) {
            // A reader that went away needs no answer.
            let _ = one.done.send(outcome.clone());
        }
    }
}

fn append(
    conn: &mut Conn,
    tenant: Tenant,
    key: &ChainKey,
    rows: Vec<AuditRead>,
) -> Result<(), Problem> {
    let mut head = audit::lock_head(conn, tenant, &key.start())?;
    let chained = rows
        .into_iter()
        .map(|row| key.extend(tenant, &mut head, row))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(audit::append(conn, tenant, &chained, &head)?)
}

/// The rows of each club, the clubs in one order everywhere: each locks the end of its chain, and two
/// that wait for each other would wait for ever.
fn by_tenant(rows: Vec<(Tenant, AuditRead)>) -> Vec<(Tenant, Vec<AuditRead>)> {
    let mut groups: BTreeMap<ClubId, (Tenant, Vec<AuditRead>)> = BTreeMap::new();
    for (tenant, row) in rows {
        let of_club = groups.entry(tenant.club_id());
        of_club.or_insert((tenant, Vec::new())).1.push(row);
    }
    groups.into_values().collect()
}
