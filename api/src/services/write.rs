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

use jiff::{SignedDuration, Timestamp};
use sha2::{Digest, Sha256};
use uuid::Uuid;

use crate::app::App;
use crate::auth::principal::Principal;
use crate::auth::tenant::Caller;
use crate::error::{Code, Problem};
use crate::ids::Ids;
use crate::store::idempotency::{self, StoredAnswer};
use crate::store::{self, Author, Conn, Moment, StoreError, Tenant, clubs};
use crate::telemetry::metrics;
use crate::web::reply::Reply;
use crate::web::write::{IdempotencyKey, WriteRequest};

/// How long an answer is kept for its key.
const KEPT: SignedDuration = SignedDuration::from_hours(24);

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
    let key = request
        .idempotency
        .as_ref()
        .map(|key| KeptKey::new(key, &caller.principal));
    let (shared, now) = (app.clone(), app.clock.now());
    let clock = app.clock;
    let locked = move |conn: &mut Conn, key: Option<&KeptKey>| {
        let tenant = caller.tenant;
        let mut moment = clubs::lock(conn, tenant, clock)?;
        once(conn, tenant, key, now, |conn| {
            let moment = &mut moment;
            let mut change = Change {
                conn,
                caller: &caller,
                moment,
                ids: &shared.ids,
            };
            let reply = work(&mut change)?;
            clubs::moment_save(change.conn, tenant, change.moment)?;
            Ok(reply)
        })
    };
    if request.dry_run {
        app.store.trial(move |conn| locked(conn, None)).await
    } else {
        app.store
            .write(move |conn| locked(conn, key.as_ref()))
            .await
    }
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
    let work = move |conn: &mut Conn| work(conn, club, now);
    if request.dry_run {
        app.store.trial(work).await
    } else {
        app.store
            .write(move |conn| once(conn, nobody, key.as_ref(), now, work))
            .await
    }
}

/// Gives the answer kept for the key, or does the work and keeps its answer.
fn once(
    conn: &mut Conn,
    tenant: Tenant,
    key: Option<&KeptKey>,
    now: Timestamp,
    work: impl FnOnce(&mut Conn) -> Result<Reply, Problem>,
) -> Result<Reply, Problem> {
    if let Some(key) = key
        && let Some(stored) = idempotency::find(conn, tenant, &key.hash, now)?
    {
        return replay(stored, key);
    }
    let Some(key) = key else {
        return work(conn);
    };
    let reply = match store::savepoint(conn, work) {
        Err(problem) if problem.code.status() == 422 => Reply::problem(&problem)?,
        outcome => outcome?,
    };
    keep(conn, tenant, key, &reply, now)?;
    Ok(reply)
}

/// Runs a change that no request asked for: a job, the command line.
pub async fn job<T: Send + 'static>(
    app: &App,
    caller: Caller,
    work: impl FnOnce(&mut Change<'_>) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    app.store.write(changing(app, caller, work)).await
}

/// Runs such a change and undoes it.
pub async fn trial<T: Send + 'static>(
    app: &App,
    caller: Caller,
    work: impl FnOnce(&mut Change<'_>) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    app.store.trial(changing(app, caller, work)).await
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

/// An idempotency key as it is kept: hashed with everything that scopes it.
#[derive(Debug)]
pub struct KeptKey {
    hash: [u8; 32],
    fingerprint: [u8; 32],
}

impl KeptKey {
    /// Scopes a key to client, subject, acting role, method and path; the club is the row's own.
    pub fn new(key: &IdempotencyKey, who: &Principal) -> Self {
        let mut hash = Sha256::new();
        // A subject is unique only within its issuer.
        for part in [
            &who.issuer,
            &who.client,
            &who.subject,
            who.role.code(),
            &key.target,
            &key.key,
        ] {
            hash.update(part.as_bytes());
            hash.update([0]);
        }
        Self {
            hash: hash.finalize().into(),
            fingerprint: key.fingerprint,
        }
    }
}

fn replay(stored: StoredAnswer, key: &KeptKey) -> Result<Reply, Problem> {
    if stored.fingerprint != key.fingerprint.as_slice() {
        return Err(Problem::new(
            Code::IdempotencyKeyReused,
            "This Idempotency-Key came with other content before; use a new key for new content.",
        ));
    }
    metrics::idempotent_replay();
    let status = u16::try_from(stored.status).map_err(|error| Problem::internal(&error))?;
    Ok(Reply::stored(status, &stored.headers, stored.body))
}

fn keep(
    conn: &mut Conn,
    tenant: Tenant,
    key: &KeptKey,
    reply: &Reply,
    now: Timestamp,
) -> Result<(), Problem> {
    let answer = StoredAnswer {
        key_hash: key.hash.to_vec(),
        fingerprint: key.fingerprint.to_vec(),
        status: reply.status.into(),
        headers: reply.headers(),
        body: reply.body.clone(),
        created_at: now,
        expires_at: now + KEPT,
    };
    Ok(idempotency::insert(conn, tenant, &answer)?)
}
