//! Brings changes of day totals to the clubs that a family lets them be shared with.
//!
//! Any number of instances may do it at once: each locks both clubs and copies what is there then. Giving and withdrawing consent
//! wait for nothing here: they change both clubs themselves.

use std::time::Duration;

use crate::app::App;
use crate::ids::{ClubId, ConsentId};
use crate::services::sharing;
use crate::store::{Clubs, shares};

/// How often the job looks.
pub const EVERY: Duration = Duration::from_secs(15);
/// Consents worked through in one look; the rest is for the next.
const MOST: i64 = 500;

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

/// Brings what has changed. One that fails does not keep the others waiting; it is due again at the next look.
pub async fn look(app: &App) {
    let due = app
        .store
        .read(Clubs::Every, |conn| shares::due(conn, MOST))
        .await;
    match due {
        Ok(due) => {
            for (club, consent) in due {
                bring(app, club, consent).await;
            }
        }
        Err(error) => tracing::warn!(%error, "what is shared between clubs could not be read"),
    }
}

async fn bring(app: &App, club: ClubId, consent: ConsentId) {
    if let Err(problem) = sharing::follow(app, club, consent).await {
        tracing::warn!(club_id = %club, detail = %problem.detail, "shared totals could not be brought up to date");
    }
}
