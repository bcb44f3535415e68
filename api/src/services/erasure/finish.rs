//! What follows an erasure: a line outside the database, and making the database forget the bytes. Both can be repeated, so whatever
//! fails is tried again by the job, and the list of erasures says what is still to be done.

use jiff::Timestamp;

use super::file::{self, Filed};
use crate::app::App;
use crate::ids::ClubId;
use crate::store::erasures::{self, Erasure};
use crate::store::{Clubs, Tenant, subject_records};
use crate::telemetry::metrics;

/// Does what is still to be done after erasures, of every club.
pub async fn finish(app: &App) {
    let open = match app.store.read(Clubs::Every, erasures::unfinished).await {
        Ok(open) => open,
        Err(error) => return tracing::warn!(%error, "unfinished erasures could not be read"),
    };
    if open.is_empty() {
        return metrics::erasures_unfinished(0);
    }
    let mut filed = Vec::with_capacity(open.len());
    for (club, erasure) in &open {
        filed.push(match erasure.filed_at {
            None => file(app, *club, erasure.clone()).await,
            done => done,
        });
    }
    let cleaned = clean(app, &open).await;
    let mut unfinished = 0;
    for ((club, erasure), filed_at) in open.into_iter().zip(filed) {
        let done = (filed_at, erasure.cleaned_at.or(cleaned));
        if done.0.is_none() || done.1.is_none() {
            unfinished += 1;
        }
        note(app, club, &erasure, done).await;
    }
    metrics::erasures_unfinished(unfinished);
}

async fn file(app: &App, club: ClubId, erasure: Erasure) -> Option<Timestamp> {
    let path = app.config.erasures.clone();
    let line = Filed::new(club, erasure);
    let added = tokio::task::spawn_blocking(move || file::add(&path, &line)).await;
    match added.map_err(std::io::Error::from).flatten() {
        Ok(()) => Some(app.clock.now()),
        Err(error) => {
            tracing::error!(%error, "an erasure could not be written to the file outside the database; it is tried again");
            None
        }
    }
}

/// Makes the database forget the bytes of all that was erased and not cleaned up after.
async fn clean(app: &App, open: &[(ClubId, Erasure)]) -> Option<Timestamp> {
    let unclean = || {
        let open = open.iter().map(|(_, erasure)| erasure);
        open.filter(|erasure| erasure.cleaned_at.is_none())
    };
    unclean().next()?;
    let tables = subject_records::touched(|table| {
        unclean().any(|erasure| erasure.counts.get(table).is_some())
    });
    match app.store.scrub(tables).await {
        Ok(()) => Some(app.clock.now()),
        Err(error) => {
            tracing::warn!(%error, "the database still holds bytes of what was erased; it is tried again");
            None
        }
    }
}

async fn note(
    app: &App,
    club: ClubId,
    erasure: &Erasure,
    done: (Option<Timestamp>, Option<Timestamp>),
) {
    if done == (erasure.filed_at, erasure.cleaned_at) {
        return;
    }
    let (tenant, id) = (Tenant::granted(club), erasure.erasure_id);
    let noted = app
        .store
        .write(tenant, move |conn| erasures::finish(conn, tenant, id, done))
        .await;
    if let Err(error) = noted {
        tracing::warn!(%error, "what was done after an erasure could not be noted; it is done once more");
    }
}
