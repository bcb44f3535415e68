//! Erases each night what is due of athletes who have left, for each club that has terms.
//!
//! Any number of instances may do it at once: the unique key of club and night decides which one made the run. A night that was missed
//! is not made up for; the next one finds what was due on it. While the clock is in doubt nothing is erased, and a night that lies
//! far from the one before erases nothing either.

use std::time::Duration;

use super::each_club::each_club;
use crate::app::App;
use crate::error::Problem;
use crate::services::retention::run::{self, Outcome, Ran};
use crate::store::Tenant;
use crate::store::clubs::{self, Club};
use crate::telemetry::metrics;

/// How often the job looks.
pub const EVERY: Duration = Duration::from_secs(60);

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

/// Makes the runs that are due now.
pub async fn look(app: &App) {
    let make = |club: Club| make(app, Tenant::granted(club.club_id));
    let failing = each_club(app, "retention", clubs::list_all, |club| club.club_id, make).await;
    run::clean(app).await;
    let now = app.clock.now();
    app.retention.note(failing, now);
    if failing == 0 {
        metrics::retention_in_order(now);
    }
}

/// Makes a club's run where it is due. Says whether that went well.
async fn make(app: &App, tenant: Tenant) -> bool {
    let made = make_due(app, tenant).await;
    match &made {
        Ok(Some(ran)) => tell(tenant, ran),
        Ok(None) => {}
        Err(problem) => {
            tracing::warn!(club_id = %tenant.club_id(), detail = %problem.detail, "what is due could not be erased");
            metrics::retention_failed();
        }
    }
    made.is_ok()
}

async fn make_due(app: &App, tenant: Tenant) -> Result<Option<Ran>, Problem> {
    let Some(now) = app.steady_now() else {
        return Ok(None);
    };
    let is_due = app
        .store
        .read(tenant, move |conn| run::is_due(conn, tenant, now))
        .await?;
    if !is_due {
        return Ok(None);
    }
    match run::run(app, tenant).await? {
        Outcome::Ran(ran) => Ok(Some(ran)),
        Outcome::NoTerms | Outcome::RunBefore | Outcome::ClockInDoubt => Ok(None),
    }
}

/// Counts alone: whose records these were is told nowhere.
fn tell(tenant: Tenant, ran: &Ran) {
    let rows: i64 = ran.erased.values().sum();
    tracing::info!(
        club_id = %tenant.club_id(), night = %ran.night, athletes = ran.athletes, rows, waiting = ran.waiting,
        held = ran.held, "what was due was erased"
    );
    for (class, rows) in &ran.erased {
        metrics::retention_erased(class.code(), *rows);
    }
}
