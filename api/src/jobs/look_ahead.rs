//! Looks ahead to the weekend for each club that wants it, when it is due.
//!
//! Any number of instances may do it at once: the unique key of club and week decides which one made it.
//! One that was missed is made as long as its Sunday is not over, and never after.

use std::time::Duration;

use super::each_club::each_club;
use crate::app::App;
use crate::services::look_ahead;
use crate::store::{Tenant, look_aheads};
use crate::telemetry::metrics;

/// How often the job looks.
pub const EVERY: Duration = Duration::from_secs(30);

/// Looks again and again while the clock is believed, until the task is ended.
pub async fn run(app: App) {
    let mut every = tokio::time::interval(EVERY);
    loop {
        every.tick().await;
        if app.clock_watch.is_believed(&app.store).await {
            look(&app).await;
        }
    }
}

/// Makes what is due now in every club that looks ahead.
pub async fn look(app: &App) {
    let make = |club| make_due(app, Tenant::granted(club));
    let failing = each_club(app, "look_ahead", look_aheads::looking, |club| *club, make).await;
    let now = app.clock.now();
    app.looking_ahead.note(failing, now);
    if failing == 0 {
        metrics::look_ahead_in_order(now);
    }
}

/// Makes a club's look-ahead where it is due. Says whether that went well.
async fn make_due(app: &App, tenant: Tenant) -> bool {
    let now = app.clock.now();
    let due = app
        .store
        .read(tenant, move |conn| look_ahead::due(conn, tenant, now))
        .await;
    let made = match due {
        Ok(Some(_)) => look_ahead::make(app, tenant).await,
        Ok(None) => Ok(None),
        Err(problem) => Err(problem),
    };
    match made {
        Ok(None) => true,
        Ok(Some(week)) => {
            tracing::info!(club_id = %tenant.club_id(), %week, "a look-ahead was made");
            metrics::look_ahead_made();
            true
        }
        Err(problem) => {
            tracing::warn!(club_id = %tenant.club_id(), detail = %problem.detail, "a look-ahead could not be made");
            metrics::look_ahead_failed();
            false
        }
    }
}
