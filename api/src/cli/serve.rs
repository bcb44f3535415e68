//! `plimsoll serve`.

use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;

use super::{Failure, say, start, stopping};
use crate::app::App;
use crate::config::Config;
use crate::delivery::Network;
use crate::delivery::mailer::Mailer;
use crate::jobs::deliver::Courier;
use crate::jobs::{
    calendars, erasures, look_ahead, retention, roster_sources, sharing, sign_heads, weekly_close,
};
use crate::services::head_file::HeadFile;
use crate::services::{added_lines, revocations};
use crate::store::{Clubs, idempotency};
use crate::{server, telemetry};

pub(super) fn run(config: Config) -> Result<(), Failure> {
    telemetry::start(&config);
    telemetry::metrics::start();
    actix_web::rt::System::new().block_on(async {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let listener = bind(&app)?;
        serve(app, listener).await
    })
}

/// Binds the address of the settings.
pub(super) fn bind(app: &App) -> Result<TcpListener, Failure> {
    let address = app.config.listen;
    TcpListener::bind(address).map_err(|error| {
        Failure::Found(format!(
            "cannot listen on {address}: {error}; choose another address or port"
        ))
    })
}

/// Serves until the program is asked to stop. Then, for as long as the settings say, it answers as before and says that it is not
/// ready; then it takes no more connections, and what was accepted may end. What is being sent meanwhile is sent and written down,
/// or cut short when the last request may have ended.
pub(super) async fn serve(app: App, listener: TcpListener) -> Result<(), Failure> {
    let address = listener.local_addr().map_err(Failure::found)?;
    let signals = stopping::Signals::new().map_err(Failure::found)?;
    let drain = Duration::from_secs(app.config.drain_seconds);
    let (stop, stopped) = (app.stop.clone(), app.stop.subscribe());
    let closing = stopping::after(stopped.clone(), drain);
    let cut_short = stopping::after(stopped.clone(), drain + server::STOP_TIME);
    let server = server::start(&app, listener, closing).map_err(Failure::found)?;
    tokio::spawn(signals.follow(stop.clone()));
    let mut housekeeping = vec![
        tokio::spawn(keep_house(app.clone())),
        tokio::spawn(follow_revocations(app.clone())),
    ];
    let mut delivering = None;
    if app.config.jobs.is_on() {
        let server = app.config.mail_server().map_err(Failure::found)?;
        let mailer = server.map(|server| Mailer::new(app.clone(), server));
        let sender = Network::new(app.config.webhook_reach(), mailer);
        let courier = Arc::new(Courier::new(app.clone(), sender));
        delivering = Some(tokio::spawn(courier.run(stopped)));
        let heads = head_file(&app.config)?;
        erasure_file(&app.config)?;
        housekeeping.push(tokio::spawn(sign_heads::run(app.clone(), heads)));
        housekeeping.push(tokio::spawn(weekly_close::run(app.clone())));
        housekeeping.push(tokio::spawn(sharing::run(app.clone())));
        housekeeping.push(tokio::spawn(retention::run(app.clone())));
        housekeeping.push(tokio::spawn(erasures::run(app.clone())));
        housekeeping.push(tokio::spawn(calendars::run(app.clone())));
        housekeeping.push(tokio::spawn(roster_sources::run(app.clone())));
        housekeeping.push(tokio::spawn(look_ahead::run(app.clone())));
    }
    say(&format!("listening on http://{address}"))?;
    let served = server.await.map_err(Failure::found);
    // A server that ended by itself stops the rest too.
    stop.send_replace(true);
    if let Some(delivering) = delivering {
        tokio::select! {
            _ = delivering => {}
            () = cut_short => tracing::warn!("some deliveries were cut short; they are sent again"),
        }
    }
    housekeeping.iter().for_each(tokio::task::JoinHandle::abort);
    app.sandboxes.end_all();
    served
}

/// The file that signed ends of audit lists are added to.
fn head_file(config: &Config) -> Result<HeadFile, Failure> {
    let (key, path) = (start::sign_key(config)?, &config.audit_heads);
    HeadFile::open(key, path)
        .map_err(|error| Failure::Found(format!("audit_heads {}: {error}", path.display())))
}

/// Shows at the start whether erasures can be written down outside the database.
fn erasure_file(config: &Config) -> Result<(), Failure> {
    let path = &config.erasures;
    added_lines::append(path, "")
        .map_err(|error| Failure::Found(format!("erasures {}: {error}", path.display())))
}

/// Reads the list of revocations again and again, since other processes may change it.
async fn follow_revocations(app: App) {
    let mut every = tokio::time::interval(revocations::EVERY);
    loop {
        every.tick().await;
        if let Err(error) = app.revocations.refresh(&app.store).await {
            tracing::warn!(%error, "revocations could not be read; the last list stays in use");
        }
    }
}

/// Once a minute: fresh keys, and no memory for callers who went away.
async fn keep_house(app: App) {
    let mut minute = tokio::time::interval(Duration::from_secs(60));
    loop {
        minute.tick().await;
        app.verifier.renew_keys(app.clock.now()).await;
        app.limiter.forget_idle();
        let now = app.clock.now();
        app.sandboxes.end_old(now);
        if !app.clock_watch.is_steady() {
            tracing::warn!(
                "the machine's clock was set by more than a day: weeks, notices and kept answers rest"
            );
            continue;
        }
        if let Err(error) = app
            .store
            .write(Clubs::Every, move |conn| idempotency::prune(conn, now))
            .await
        {
            tracing::warn!(%error, "kept answers that have expired could not be removed");
        }
    }
}
