//! Pulls roster sources when they are due.
//!
//! Any number of instances may look at once: taking a source up moves its time ahead by ten minutes, so that another finds it not due,
//! and one that was taken up by an instance that ended is due again by then.

use std::time::Duration;

use futures_util::{StreamExt, stream};
use jiff::SignedDuration;

use crate::app::App;
use crate::auth::tenant::Caller;
use crate::delivery::client::GuardedClient;
use crate::error::Problem;
use crate::ids::{ClubId, RosterSourceId};
use crate::services::roster::sources::{self as service, How, fetch};
use crate::services::write;
use crate::store::roster_sources::{self, StoredRosterSource};
use crate::store::{Clubs, StoreError, Tenant};

/// How often the job looks.
pub const EVERY: Duration = Duration::from_secs(15);
/// So long nobody else takes a source up: longer than its pages may take.
const TAKEN_UP: SignedDuration = SignedDuration::from_mins(10);
/// Sources pulled in one look; the rest is for the next.
const MOST: i64 = 100;
/// Sources fetched at once, so that slow ones do not keep the others waiting.
const AT_ONCE: usize = 4;

/// Looks again and again while the clock is believed, until the task is ended.
pub async fn run(app: App) {
    let client = GuardedClient::new(app.config.webhook_reach());
    let mut every = tokio::time::interval(EVERY);
    loop {
        every.tick().await;
        if app.clock_watch.is_believed(&app.store).await
            && let Err(error) = look(&app, &client).await
        {
            tracing::warn!(%error, "it could not be read which roster sources are due");
        }
    }
}

/// Pulls what is due, and says of each whether it could be. One that fails does not keep the others waiting.
///
/// # Errors
/// Where it cannot be known what is due.
pub async fn look(
    app: &App,
    client: &GuardedClient,
) -> Result<Vec<(RosterSourceId, bool)>, StoreError> {
    let now = app.clock.now();
    let due = app
        .store
        .read(Clubs::Every, move |conn| {
            roster_sources::due(conn, now, MOST)
        })
        .await?;
    let looked = stream::iter(due).map(|(club, source)| async move {
        let pulled = match pull(app, client, club, source).await {
            Ok(pulled) => pulled,
            Err(problem) => {
                tracing::warn!(club_id = %club, source_id = %source, detail = %problem.detail, "a roster source could not be pulled");
                put_off(app, club, source).await;
                false
            }
        };
        (source, pulled)
    });
    Ok(looked.buffer_unordered(AT_ONCE).collect().await)
}

/// What could not be worked on is due again later, and not before everything else.
async fn put_off(app: &App, club: ClubId, id: RosterSourceId) {
    let tenant = Tenant::granted(club);
    let caller = Caller::job(tenant, "roster-sources", app.clock.now());
    let noted = write::job(app, caller, move |change| {
        match roster_sources::find(change.conn, tenant, id)? {
            Some(current) => service::put_off(change, current),
            None => Ok(()),
        }
    })
    .await;
    if let Err(problem) = noted {
        tracing::warn!(club_id = %club, source_id = %id, detail = %problem.detail, "a roster source could not be put off");
    }
}

/// Whether its roster is the one that is there now.
async fn pull(
    app: &App,
    client: &GuardedClient,
    club: ClubId,
    id: RosterSourceId,
) -> Result<bool, Problem> {
    let tenant = Tenant::granted(club);
    let Some(taken) = take_up(app, tenant, id).await? else {
        return Ok(true);
    };
    let now = app.clock.now();
    let fetched = fetch::roster(client, &taken, now).await?;
    let caller = service::caller(tenant, &taken, now);
    let how = How {
        confirm_large_removal: false,
        dry_run: false,
    };
    write::job(app, caller, move |change| {
        let current = roster_sources::find(change.conn, tenant, id)?;
        // Whoever changed or pulled it meanwhile has said when it is due.
        match current.filter(|current| service::is_as_fetched(current, &taken)) {
            Some(current) => Ok(service::take(change, current, fetched, how)?
                .problem
                .is_none()),
            None => Ok(true),
        }
    })
    .await
}

/// The source, unless another instance has taken it up or somebody has put it off.
async fn take_up(
    app: &App,
    tenant: Tenant,
    id: RosterSourceId,
) -> Result<Option<StoredRosterSource>, Problem> {
    let caller = Caller::job(tenant, "roster-sources", app.clock.now());
    write::job(app, caller, move |change| {
        let now = change.now();
        let is_due =
            |source: &StoredRosterSource| source.next_attempt_at.is_some_and(|time| time <= now);
        let current = roster_sources::find(change.conn, tenant, id)?.filter(is_due);
        let Some(mut source) = current else {
            return Ok(None);
        };
        source.next_attempt_at = Some(now + TAKEN_UP);
        roster_sources::save(change.conn, tenant, &source)?;
        Ok(Some(source))
    })
    .await
}
