//! From settings to a running application: shared by all commands that need the database.

use crate::app::{App, Parts};
use crate::auth::{LocalKey, Verifier};
use crate::clock::Clock;
use crate::clock_watch::ClockWatch;
use crate::config::Config;
use crate::ids::{ClubId, Ids};
use crate::jobs::watch::Watch;
use crate::services::audit::AuditLog;
use crate::services::audit_chain::ChainKey;
use crate::services::page_link::LinkKey;
use crate::services::revocations::Revocations;
use crate::store::{DatabaseUrl, Store, StoreSettings, Tenant, audit, clubs, migrate};
use crate::web::rate_limit::Limiter;

use super::Failure;

/// Whether pending migrations are applied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Migrations {
    /// Always on SQLite; on PostgreSQL only where the setting says so, else refused.
    BySetting,
    /// Always.
    Apply,
}

/// Opens the store and puts the application together.
pub(super) async fn app(config: Config, migrations: Migrations) -> Result<App, Failure> {
    let ids = Ids::random().map_err(Failure::found)?;
    app_with(config, migrations, ids).await
}

/// As [`app`], with ids of the caller's making.
pub(super) async fn app_with(
    config: Config,
    migrations: Migrations,
    ids: Ids,
) -> Result<App, Failure> {
    let url: DatabaseUrl = config.database_url.parse().map_err(Failure::found)?;
    let settings = StoreSettings {
        read_connections: config.database_connections,
        ..StoreSettings::default()
    };
    let apply = migrations == Migrations::Apply || url.is_sqlite() || config.migrate.is_on();
    if apply {
        migrate::apply(&url).map_err(Failure::found)?;
    } else {
        refuse_pending(&url)?;
    }
    let store = Store::connect(&url, settings).map_err(Failure::found)?;
    let clock = config.clock.map_or(Clock::SYSTEM, Clock::starting_at);
    let verifier = verifier(&config).await?;
    let chain_key = chain_key(&config, &store).await?;
    let revocations = Revocations::default();
    revocations.refresh(&store).await.map_err(Failure::found)?;
    Ok(App::new(Parts {
        revocations,
        closing: Watch::default(),
        looking_ahead: Watch::default(),
        audit: AuditLog::start(store.clone(), chain_key),
        links: page_key(&config)?,
        limiter: Limiter::new(config.rate_limit),
        ids,
        clock,
        clock_watch: ClockWatch::new(),
        store,
        verifier,
        config,
    }))
}

/// The key of the audit list, the one its chains were begun with.
pub(super) async fn chain_key(config: &Config, store: &Store) -> Result<ChainKey, Failure> {
    let path = &config.audit_key;
    let key = ChainKey::open(path)
        .map_err(|error| Failure::Found(format!("audit_key {}: {error}", path.display())))?;
    let id = key.id().to_vec();
    let other = store
        .read(move |conn| audit::uses_other_key(conn, &id))
        .await;
    if other.map_err(Failure::found)? {
        return Err(Failure::Usage(format!(
            "the audit list was begun with another key than the one in {}: set audit_key to the file \
             with that key",
            path.display()
        )));
    }
    Ok(key)
}

/// The key that links to pages are signed with.
fn page_key(config: &Config) -> Result<LinkKey, Failure> {
    let path = &config.page_key;
    LinkKey::open(path)
        .map_err(|error| Failure::Found(format!("page_key {}: {error}", path.display())))
}

/// A club named on the command line, which must be there.
pub(super) async fn club(app: &App, club: ClubId) -> Result<Tenant, Failure> {
    let tenant = Tenant::granted(club);
    let found = app.store.read(move |conn| clubs::find(conn, tenant)).await;
    match found.map_err(Failure::found)? {
        Some(_) => Ok(tenant),
        None => Err(Failure::Found(format!(
            "no club has the id {club}; look at the database and the id"
        ))),
    }
}

/// All clubs, page by page.
pub(super) async fn every_club(app: &App) -> Result<Vec<Tenant>, Failure> {
    let mut found: Vec<Tenant> = Vec::new();
    loop {
        let after = found.last().map(|tenant| tenant.club_id());
        let page = app
            .store
            .read(move |conn| clubs::list_all(conn, after, 500))
            .await;
        let page = page.map_err(Failure::found)?;
        if page.is_empty() {
            return Ok(found);
        }
        found.extend(page.iter().map(|club| Tenant::granted(club.club_id)));
    }
}

/// Checks tokens by the settings; the issuers' keys are fetched.
pub(super) async fn verifier(config: &Config) -> Result<Verifier, Failure> {
    let local = match config.local_issuer.is_on() {
        true => Some(LocalKey::open(&config.local_key).map_err(Failure::found)?),
        false => None,
    };
    let verifier = Verifier::new(&config.auth, local.as_ref()).map_err(Failure::found)?;
    let clock = config.clock.map_or(Clock::SYSTEM, Clock::starting_at);
    verifier.renew_keys(clock.now()).await;
    Ok(verifier)
}

fn refuse_pending(url: &DatabaseUrl) -> Result<(), Failure> {
    let pending = migrate::pending(url).map_err(Failure::found)?;
    match pending.first() {
        None => Ok(()),
        Some(first) => Err(Failure::Found(format!(
            "the database lacks {} migration(s), the first is {first}; run `plimsoll migrate`, or \
             set PLIMSOLL_MIGRATE=on",
            pending.len(),
        ))),
    }
}
