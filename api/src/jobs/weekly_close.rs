//! Closes each club's weeks when they are due.
//!
//! Any number of instances may do it at once: the unique key of club and week decides which one
//! closed it, and the others find it closed. A week that was missed is closed at the next look, the
//! earliest first.

use std::time::Duration;

use super::each_club::each_club;
use crate::app::App;
use crate::error::Problem;
use crate::services::weekly_close::{self, Closing};
use crate::store::Tenant;
use crate::store::clubs::{self, Club};
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

/// Closes what is due now in every club.
pub async fn look(app: &App) {
    let close = |club| close(app, club);
    let failing = each_club(
        app,
        "weekly_close",
        clubs::list_all,
        |club| club.club_id,
        close,
    )
    .await;
    let now = app.clock.now();
    app.closing.note(failing, now);
    if failing == 0 {
        metrics::weekly_close_in_order(now);
    }
}

/// Closes a club's due weeks. Says whether that went well.
async fn close(app: &App, club: Club) -> bool {
    let closed = close_due(app, &club).await;
    if let Err(problem) = &closed {
        tracing::warn!(club_id = %club.club_id, detail = %problem.detail, "a week could not be closed");
        metrics::weekly_close_failed();
    }
    closed.is_ok()
}

/// Closes a club's due weeks in order; one that fails holds up those after it.
async fn close_due(app: &App, club: &Club) -> Result<(), Problem> {
    let tenant = Tenant::granted(club.club_id);
    for found in weekly_close::due_now(app, tenant, club.created_at).await? {
        let closing = weekly_close::close_due(app, tenant, found).await?;
        if let Closing::Closed { late } = closing {
            let week = found.week;
            tracing::info!(club_id = %tenant.club_id(), %week, late, "a week was closed");
            metrics::week_closed(late);
        }
    }
    Ok(())
}
