//! `plimsoll serve`.

use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::watch;

use super::{Failure, say, start};
use crate::app::App;
use crate::config::Config;
use crate::delivery::Network;
use crate::delivery::mailer::Mailer;
use crate::jobs::deliver::Courier;
use crate::jobs::{look_ahead, weekly_close};
use crate::services::revocations;
use crate::store::idempotency;
use crate::{server, telemetry};

/// What is being sent when the service stops has so long to be sent and written down. Together with the server's own time to
/// stop it stays below what systemd and container runtimes are told to wait.
const LAST_DELIVERIES: Duration = Duration::from_secs(5);

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

/// Serves until the program is told to stop, then lets accepted requests finish.
pub(super) async fn serve(app: App, listener: TcpListener) -> Result<(), Failure> {
    let address = listener.local_addr().map_err(Failure::found)?;
    let server = server::start(&app, listener).map_err(Failure::found)?;
    let mut housekeeping = vec![
        tokio::spawn(keep_house(app.clone())),
        tokio::spawn(follow_revocations(app.clone())),
    ];
    let (stop, stopped) = watch::channel(false);
    let mut delivering = None;
    if app.config.jobs.is_on() {
        let server = app.config.mail_server().map_err(Failure::found)?;
        let mailer = server.map(|server| Mailer::new(app.clone(), server));
        let sender = Network::new(app.config.webhook_reach(), mailer);
        let courier = Arc::new(Courier::new(app.clone(), sender));
        delivering = Some(tokio::spawn(courier.run(stopped)));
        housekeeping.push(tokio::spawn(weekly_close::run(app.clone())));
        housekeeping.push(tokio::spawn(look_ahead::run(app)));
    }
    say(&format!("listening on http://{address}"))?;
    let served = server.await.map_err(Failure::found);
    housekeeping.iter().for_each(tokio::task::JoinHandle::abort);
    if let Some(delivering) = delivering
        && stop.send(true).is_ok()
        && tokio::time::timeout(LAST_DELIVERIES, delivering)
            .await
            .is_err()
    {
        tracing::warn!("some deliveries were cut short; they are sent again");
    }
    served
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
        if !app.clock_watch.is_steady() {
            tracing::warn!(
                "the machine's clock was set by more than a day: weeks, notices and kept answers rest"
            );
            continue;
        }
        if let Err(error) = app
            .store
            .write(move |conn| idempotency::prune(conn, now))
            .await
        {
            tracing::warn!(%error, "kept answers that have expired could not be removed");
        }
    }
}
