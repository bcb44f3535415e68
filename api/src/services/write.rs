//! The one way to change something: lock the club, do the work, keep the answer for its key.
//!
//! ```text
//! dry run          lock, work, roll back
//! without key      lock, work, commit
//! with key         lock, look the key up, replay or (work, keep the answer), commit
//! ```
//!
//! The answer kept for an idempotency key is stored in the transaction of the work itself. A 422 is
//! kept too, after the work was rolled back to a savepoint; other refusals are not.

mod answers;

use std::collections::BTreeSet;

use jiff::Timestamp;
use uuid::Uuid;

use answers::once;
pub use answers::{ANSWERS_KEPT, KeptKey};

use crate::app::App;
use crate::auth::principal::Principal;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{ClubId, Ids};
use crate::store::{Author, Clubs, Conn, Moment, StoreError, Tenant, clubs};
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

/// What a piece of work may use while it changes one club.
pub struct Change<'a> {
    /// The connection, inside the transaction.
    pub conn: &'a mut Conn,
    /// Who is changing it, in which club.
    pub caller: &'a Caller,
    /// When it becomes known: the clock's time, never before the club's last change.
    pub moment: &'a mut Moment,
    /// New ids.
    pub ids: &'a Ids,
}

impl Change<'_> {
    /// The club.
    pub fn tenant(&self) -> Tenant {
        self.caller.tenant
    }

    /// The instant at which the change becomes known.
    pub fn at(&self) -> Timestamp {
        self.moment.at()
    }

    /// What the clock shows, for what is to happen soon: [`Change::at`] is later after a clock that was ahead.
    pub fn now(&self) -> Timestamp {
        self.moment.now()
    }

    /// A new id of any kind.
    pub fn new_id<I: From<uuid::Uuid>>(&self) -> I {
        self.ids.next(self.moment.at()).into()
    }

    /// The system the change comes from: the source of session reports.
    pub fn source(&self) -> &str {
        &self.caller.principal.client
    }

    /// Runs a store function that appends versions, with all that it demands.
    pub fn store_with<T>(
        &mut self,
        work: impl FnOnce(&mut Conn, Tenant, &mut Moment, Author<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let author = Author {
            subject: &self.caller.principal.subject,
            acting_role: self.caller.principal.role.code(),
        };
        work(self.conn, self.caller.tenant, self.moment, author)
    }
}

/// Runs a write of one club.
pub async fn run(
    app: &App,
    caller: Caller,
    request: &WriteRequest,
    work: impl FnOnce(&mut Change<'_>) -> Result<Reply, Problem> + Send + 'static,
) -> Result<Reply, Problem> {
    let work = Box::new(|change: &mut Change<'_>, _: &mut [Beside]| work(change));
    run_all(app, caller, request, Vec::new(), work).await
}

/// The work of a write, boxed so that what leads to it is compiled once.
type Work = Box<dyn FnOnce(&mut Change<'_>, &mut [Beside]) -> Result<Reply, Problem> + Send>;

/// Another club that a write changes too: in the service's own name, for the other club is not the caller's.
#[derive(Debug)]
pub struct Beside {
    caller: Caller,
    moment: Moment,
}

impl Beside {
    /// The other club.
    pub fn tenant(&self) -> Tenant {
        self.caller.tenant
    }

    /// Does the part of a write that changes the other club.
    pub fn change<T>(
        &mut self,
        from: &mut Change<'_>,
        work: impl FnOnce(&mut Change<'_>) -> Result<T, Problem>,
    ) -> Result<T, Problem> {
        work(&mut Change {
            conn: &mut *from.conn,
            caller: &self.caller,
            moment: &mut self.moment,
            ids: from.ids,
        })
    }
}

/// Runs a write of one club that also changes another, in one transaction. The two are locked in the order of their ids, so that
/// no two such writes wait for each other. `work` is given the other club where there is one and it is not the caller's own.
pub async fn run_beside(
    app: &App,
    caller: Caller,
    request: &WriteRequest,
    beside: Option<ClubId>,
    work: impl FnOnce(&mut Change<'_>, Option<&mut Beside>) -> Result<Reply, Problem> + Send + 'static,
) -> Result<Reply, Problem> {
    let others = beside.into_iter().collect();
    let work = Box::new(move |change: &mut Change<'_>, besides: &mut [Beside]| {
        work(change, besides.first_mut())
    });
    run_all(app, caller, request, others, work).await
}

/// As [`run_beside`], with any number of other clubs; those that are not there are left out.
pub async fn run_among(
    app: &App,
    caller: Caller,
    request: &WriteRequest,
    others: Vec<ClubId>,
    work: impl FnOnce(&mut Change<'_>, &mut [Beside]) -> Result<Reply, Problem> + Send + 'static,
) -> Result<Reply, Problem> {
    run_all(app, caller, request, others, Box::new(work)).await
}

async fn run_all(
    app: &App,
    caller: Caller,
    request: &WriteRequest,
    others: Vec<ClubId>,
    work: Work,
) -> Result<Reply, Problem> {
    let key = request
        .idempotency
        .as_ref()
        .map(|key| KeptKey::new(key, &caller.principal));
    let (shared, now) = (app.clone(), app.clock.now());
    let tenant = caller.tenant;
    let clubs = Clubs::among(tenant, &others);
    let locked = move |conn: &mut Conn, key: Option<&KeptKey>| {
        let (mut moment, mut besides) = lock_all(conn, &shared, tenant, others)?;
        once(conn, tenant, key, now, |conn| {
            let mut change = Change {
                conn,
                caller: &caller,
                moment: &mut moment,
                ids: &shared.ids,
            };
            let reply = work(&mut change, &mut besides)?;
            save_all(change.conn, (tenant, &*change.moment), &besides)?;
            Ok(reply)
        })
    };
    if request.dry_run {
        app.store.trial(clubs, move |conn| locked(conn, None)).await
    } else {
        app.store
            .write(clubs, move |conn| locked(conn, key.as_ref()))
            .await
    }
}

/// Runs a change of two clubs that no request asked for. `None` where the other club is not there.
pub async fn job_beside<T: Send + 'static>(
    app: &App,
    caller: Caller,
    beside: ClubId,
    work: impl FnOnce(&mut Change<'_>, &mut Beside) -> Result<T, Problem> + Send + 'static,
) -> Result<Option<T>, Problem> {
    let work = |change: &mut Change<'_>, besides: &mut [Beside]| {
        let there = besides.first_mut();
        there.map(|there| work(change, there)).transpose()
    };
    job_among(app, caller, vec![beside], work).await
}

/// As [`job_beside`], with any number of other clubs; those that are not there are left out.
pub async fn job_among<T: Send + 'static>(
    app: &App,
    caller: Caller,
    others: Vec<ClubId>,
    work: impl FnOnce(&mut Change<'_>, &mut [Beside]) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    let (shared, tenant) = (app.clone(), caller.tenant);
    let clubs = Clubs::among(tenant, &others);
    app.store
        .write(clubs, move |conn| {
            let (mut moment, mut besides) = lock_all(conn, &shared, tenant, others)?;
            let mut change = Change {
                conn,
                caller: &caller,
                moment: &mut moment,
                ids: &shared.ids,
            };
            let outcome = work(&mut change, &mut besides)?;
            save_all(conn, (tenant, &moment), &besides)?;
            Ok(outcome)
        })
        .await
}

/// Locks a club and the others that are there, in the order of their ids, so that no two such writes wait for each other.
fn lock_all(
    conn: &mut Conn,
    app: &App,
    tenant: Tenant,
    others: Vec<ClubId>,
) -> Result<(Moment, Vec<Beside>), Problem> {
    let mut in_order: BTreeSet<ClubId> = others.into_iter().collect();
    in_order.insert(tenant.club_id());
    let (mut own, mut besides) = (None, Vec::new());
    for club in in_order.into_iter().map(Tenant::granted) {
        if club == tenant {
            own = Some(clubs::lock(conn, tenant, app.clock)?);
        } else if clubs::find(conn, club)?.is_some() {
            let moment = clubs::lock(conn, club, app.clock)?;
            let caller = Caller::job(club, "sharing", app.clock.now());
            besides.push(Beside { caller, moment });
        }
    }
    let own = own.ok_or(StoreError::NotFound)?;
    Ok((own, besides))
}

fn save_all(
    conn: &mut Conn,
    (tenant, moment): (Tenant, &Moment),
    besides: &[Beside],
) -> Result<(), StoreError> {
    clubs::moment_save(conn, tenant, moment)?;
    for beside in besides {
        clubs::moment_save(conn, beside.tenant(), &beside.moment)?;
    }
    Ok(())
}

/// Runs the write that makes a club. There is no club yet to be locked or to keep the key in: the
/// key is kept under the nil id, and of two such writes at once the second is refused.
pub async fn run_new_club(
    app: &App,
    principal: &Principal,
    request: &WriteRequest,
    work: impl FnOnce(&mut Conn, Tenant, Timestamp) -> Result<Reply, Problem> + Send + 'static,
) -> Result<Reply, Problem> {
    let key = request
        .idempotency
        .as_ref()
        .map(|key| KeptKey::new(key, principal));
    let now = app.clock.now();
    let nobody = Tenant::granted(Uuid::nil().into());
    let club = Tenant::granted(app.ids.next(now).into());
    let clubs = Clubs::Two(club, nobody);
    let work = move |conn: &mut Conn| work(conn, club, now);
    if request.dry_run {
        app.store.trial(clubs, work).await
    } else {
        app.store
            .write(clubs, move |conn| {
                once(conn, nobody, key.as_ref(), now, work)
            })
            .await
    }
}

/// Runs a change that no request asked for: a job, the command line.
pub async fn job<T: Send + 'static>(
    app: &App,
    caller: Caller,
    work: impl FnOnce(&mut Change<'_>) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    app.store
        .write(caller.tenant, changing(app, caller, work))
        .await
}

/// Runs such a change and undoes it.
pub async fn trial<T: Send + 'static>(
    app: &App,
    caller: Caller,
    work: impl FnOnce(&mut Change<'_>) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    app.store
        .trial(caller.tenant, changing(app, caller, work))
        .await
}

/// Locks the club, does the work, saves the club's moment.
fn changing<T>(
    app: &App,
    caller: Caller,
    work: impl FnOnce(&mut Change<'_>) -> Result<T, Problem> + Send + 'static,
) -> impl FnOnce(&mut Conn) -> Result<T, Problem> + Send + 'static {
    let (ids, clock) = (app.ids.clone(), app.clock);
    move |conn| {
        let tenant = caller.tenant;
        let mut moment = clubs::lock(conn, tenant, clock)?;
        let mut change = Change {
            conn,
            caller: &caller,
            moment: &mut moment,
            ids: &ids,
        };
        let outcome = work(&mut change)?;
        clubs::moment_save(conn, tenant, &moment)?;
        Ok(outcome)
    }
}
