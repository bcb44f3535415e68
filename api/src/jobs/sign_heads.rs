//! Signs where each club's audit list ends, where that moved, and writes it to a file outside the database.
//!
//! What was cut off or written anew afterwards shows against those heads. Every instance may do it, each with a file of its own
//! and, unless they share one, a key of its own.

use std::sync::Arc;
use std::time::Duration;

use super::each_club::each_club;
use crate::app::App;
use crate::ids::ClubId;
use crate::services::head_file::{HeadFile, Kept};
use crate::store::audit::{self, AuditHead};
use crate::telemetry::metrics;

/// Looks again and again while the clock is believed, until the task is ended.
pub async fn run(app: App, file: HeadFile) {
    let file = Arc::new(file);
    let mut every = tokio::time::interval(Duration::from_secs(60 * app.config.audit_heads_minutes));
    loop {
        every.tick().await;
        if app.clock_watch.is_believed(&app.store).await {
            look(&app, &file).await;
        }
    }
}

/// Signs every end that moved.
pub async fn look(app: &App, file: &Arc<HeadFile>) {
    let keep = |(club, head)| keep(app, Arc::clone(file), club, head);
    let failing = each_club(app, "sign_heads", audit::heads, |(club, _)| *club, keep).await;
    let now = app.clock.now();
    app.signing.note(failing, now);
    if failing == 0 {
        metrics::audit_heads_in_order(now);
    }
}

/// Signs where a club's list ends. Says whether that went well.
async fn keep(app: &App, file: Arc<HeadFile>, club_id: ClubId, head: AuditHead) -> bool {
    let now = app.clock.now();
    let kept = tokio::task::spawn_blocking(move || file.keep(club_id, &head, now)).await;
    let kept = kept.map_err(std::io::Error::from).flatten();
    match kept {
        Ok(Kept::Same) => true,
        Ok(Kept::Signed(head)) => {
            tracing::info!(%club_id, number = head.number, link = head.link, "the end of an audit list was signed");
            true
        }
        Ok(Kept::WentBack(head)) => {
            tracing::error!(
                %club_id, number = head.number, link = head.link,
                "an audit list does not go on from where it was signed before: it was restored, cut off or written anew"
            );
            true
        }
        Err(error) => {
            tracing::warn!(%club_id, %error, "the end of an audit list could not be signed and kept");
            metrics::audit_heads_failed();
            false
        }
    }
}
