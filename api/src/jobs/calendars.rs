//! Reads calendars when they are due: from their feeds, or by the text that was sent, so that new dates come into reach.
//!
//! Any number of instances may do it at once: what one has read the other finds unchanged.

use std::time::Duration;

use futures_util::{StreamExt, stream};
use reqwest::header::{ACCEPT, HeaderMap, HeaderValue, IF_MODIFIED_SINCE, IF_NONE_MATCH};

use crate::app::App;
use crate::auth::tenant::Caller;
use crate::calendar::Bounds;
use crate::delivery::client::{CallError, Document, GuardedClient, header};
use crate::error::Problem;
use crate::ids::{CalendarId, ClubId};
use crate::services::calendars::{self as service, Fetched, turn};
use crate::services::write;
use crate::store::calendars::{self, StoredCalendar};
use crate::store::{Clubs, StoreError, Tenant};

/// How often the job looks.
pub const EVERY: Duration = Duration::from_secs(15);
/// Calendars read in one look; the rest is for the next.
const MOST: i64 = 100;
/// Feeds fetched at once, so that slow ones do not keep the others waiting; each text is held until it is read.
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
            tracing::warn!(%error, "it could not be read which calendars are due");
        }
    }
}

/// Reads what is due, and says of each whether it could be. One that fails does not keep the others waiting.
///
/// # Errors
/// Where it cannot be known what is due.
pub async fn look(
    app: &App,
    client: &GuardedClient,
) -> Result<Vec<(CalendarId, bool)>, StoreError> {
    let now = app.clock.now();
    let due = app
        .store
        .read(Clubs::Every, move |conn| calendars::due(conn, now, MOST))
        .await?;
    let looked = stream::iter(due).map(|(club, calendar)| async move {
        let read = match read(app, client, club, calendar).await {
            Ok(read) => read,
            Err(problem) => {
                tracing::warn!(club_id = %club, calendar_id = %calendar, detail = %problem.detail, "a calendar could not be read");
                put_off(app, club, calendar, &problem).await;
                false
            }
        };
        (calendar, read)
    });
    Ok(looked.buffer_unordered(AT_ONCE).collect().await)
}

/// What could not be worked on is due again later, and not before everything else.
async fn put_off(app: &App, club: ClubId, id: CalendarId, problem: &Problem) {
    let (tenant, why) = (Tenant::granted(club), problem.code);
    let caller = Caller::job(tenant, "calendars", app.clock.now());
    let noted = write::job(app, caller, move |change| {
        match calendars::find(change.conn, tenant, id)? {
            Some(current) => service::put_off(change, current, why),
            None => Ok(()),
        }
    })
    .await;
    if let Err(problem) = noted {
        tracing::warn!(club_id = %club, calendar_id = %id, detail = %problem.detail, "a calendar could not be put off");
    }
}

/// Whether its text is known and could be read.
async fn read(
    app: &App,
    client: &GuardedClient,
    club: ClubId,
    id: CalendarId,
) -> Result<bool, Problem> {
    let tenant = Tenant::granted(club);
    let stored = app
        .store
        .read(tenant, move |conn| calendars::find(conn, tenant, id))
        .await?;
    let Some(stored) = stored else {
        return Ok(true);
    };
    let fetched = fetch(client, &stored).await;
    let caller = Caller::job(tenant, "calendars", app.clock.now());
    let read = turn::to_read_some_time().await?;
    write::job(app, caller, move |change| {
        let _turn = read;
        let current = calendars::find(change.conn, tenant, id)?;
        // Whoever changed it meanwhile has made it due again, or has read it.
        let same = |current: &StoredCalendar| {
            (current.version, current.next_read_at) == (stored.version, stored.next_read_at)
        };
        match current.filter(same) {
            Some(current) => service::read_due(change, current, fetched),
            None => Ok(true),
        }
    })
    .await
}

/// Asks the feed whether there is another text than the one that is stored.
async fn fetch(client: &GuardedClient, stored: &StoredCalendar) -> Fetched {
    let Some(url) = &stored.feed_url else {
        return Fetched::Same;
    };
    let mut headers = HeaderMap::new();
    headers.insert(ACCEPT, HeaderValue::from_static("text/calendar"));
    // Only what was read is stored.
    if stored.reading.is_some() {
        let etag = stored.etag.as_deref().and_then(header);
        let modified = stored.last_modified.as_deref().and_then(header);
        headers.extend(etag.map(|etag| (IF_NONE_MATCH, etag)));
        headers.extend(modified.map(|modified| (IF_MODIFIED_SINCE, modified)));
    }
    let document = client.get(url, headers, Bounds::default().bytes).await;
    fetched(document)
}

fn fetched(document: Result<Document, CallError>) -> Fetched {
    match document {
        Ok(Document { status: 304, .. }) => Fetched::Same,
        Ok(Document {
            status: 200,
            etag,
            last_modified,
            body,
            ..
        }) => match body {
            Some(text) => Fetched::Text {
                text,
                etag,
                last_modified,
            },
            None => Fetched::Failed("too_long"),
        },
        Ok(_) => Fetched::Failed("refused"),
        Err(CallError::Blocked(_)) => Fetched::Failed("blocked"),
        Err(CallError::TimedOut) => Fetched::Failed("timed_out"),
        Err(CallError::Unreachable) => Fetched::Failed("unreachable"),
    }
}
