//! From settings to a running application: shared by all commands that need the database.

use std::path::Path;

use crate::app::{App, Parts};
use crate::auth::{LocalKey, Verifier, key_file};
use crate::clock::Clock;
use crate::clock_watch::ClockWatch;
use crate::config::Config;
use crate::ids::{ClubId, Ids};
use crate::jobs::watch::Watch;
use crate::services::audit::AuditLog;
use crate::services::audit_chain::ChainKey;
use crate::services::page_link::LinkKey;
use crate::services::revocations::Revocations;
use crate::services::sandboxes::Sandboxes;
use crate::services::signed_heads::SignKey;
use crate::store::{
    Clubs, DatabaseUrl, MasterKeys, Store, StoreSettings, Tenant, audit, club_keys, clubs, migrate,
    wall,
};
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
    let masters = master_keys(&config.master_key)?;
    let store = Store::connect(&url, settings, masters).map_err(Failure::found)?;
    refuse_passed_over_wall(&config, &store).await?;
    refuse_other_master(&config, &store).await?;
    let clock = config.clock.map_or(Clock::SYSTEM, Clock::starting_at);
    let verifier = verifier(&config).await?;
    let chain_key = chain_key(&config, &store).await?;
    let revocations = Revocations::default();
    revocations.refresh(&store).await.map_err(Failure::found)?;
    Ok(App::new(Parts {
        revocations,
        closing: Watch::default(),
        looking_ahead: Watch::default(),
        signing: Watch::default(),
        retention: Watch::default(),
        stop: tokio::sync::watch::Sender::new(false),
        audit: AuditLog::start(store.clone(), chain_key),
        links: page_key(&config)?,
        sandboxes: Sandboxes::new(config.sandboxes),
        hand: None,
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
        .read(Clubs::Every, move |conn| audit::uses_other_key(conn, &id))
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

/// The key that signs where audit lists end.
pub(super) fn sign_key(config: &Config) -> Result<SignKey, Failure> {
    let path = &config.audit_sign_key;
    SignKey::open(path)
        .map_err(|error| Failure::Found(format!("audit_sign_key {}: {error}", path.display())))
}

/// The keys that clubs' keys are wrapped with.
pub(super) fn master_keys(path: &Path) -> Result<MasterKeys, Failure> {
    let wrong = |error: &dyn std::fmt::Display| {
        Failure::Found(format!("master_key {}: {error}", path.display()))
    };
    let secrets = key_file::secrets(path).map_err(|error| wrong(&error))?;
    MasterKeys::new(&secrets).map_err(|error| wrong(&error))
}

/// Without the master key that the clubs' keys were wrapped with, nothing private could be read, and what is written would be
/// under a key that nobody expects.
async fn refuse_other_master(config: &Config, store: &Store) -> Result<(), Failure> {
    let unknown = store.read(Clubs::Every, club_keys::of_unknown_master).await;
    match unknown.map_err(Failure::found)? {
        0 => Ok(()),
        unknown => Err(Failure::Usage(format!(
            "{unknown} key(s) of clubs were wrapped with another master key than those in {}: set master_key \
             to the file with that key, or bring it back from where it is kept",
            config.master_key.display()
        ))),
    }
}

/// A role that row-level security does not bind sees every club's rows, whatever the tables' policies say.
async fn refuse_passed_over_wall(config: &Config, store: &Store) -> Result<(), Failure> {
    if !config.row_security.is_on() {
        return Ok(());
    }
    let passed_over = store.read(Clubs::Every, wall::passed_over_by).await;
    match passed_over.map_err(Failure::found)? {
        None => Ok(()),
        Some(role) => Err(Failure::Usage(wall_remedy(&role))),
    }
}

/// What to do about a role that row-level security does not bind.
pub(super) fn wall_remedy(role: &str) -> String {
    format!(
        "the database role {role} is a superuser or has BYPASSRLS, so that nothing in the database keeps clubs apart: use a role \
         that is neither (deploy/postgres-roles.sql makes one), or set PLIMSOLL_ROW_SECURITY=off"
    )
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
    let found = app
        .store
        .read(tenant, move |conn| clubs::find(conn, tenant))
        .await;
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
            .read(Clubs::Every, move |conn| clubs::list_all(conn, after, 500))
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
