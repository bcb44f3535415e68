//! Making a sandbox: a database of its own, keys that nothing else knows, and the invented club in it.

use std::path::Path;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use tempfile::TempDir;
use tokio::sync::OwnedMutexGuard;

use super::aside::aside;
use super::{Hand, Sandboxes, Wanted};
use crate::app::{App, Parts};
use crate::auth::{AuthSettings, LocalKey, Verifier, key_file};
use crate::clock_watch::ClockWatch;
use crate::config::{Config, RateLimit, Switch};
use crate::demo::{self, DemoClub};
use crate::error::Problem;
use crate::ids::Ids;
use crate::jobs::watch::Watch;
use crate::services::audit::AuditLog;
use crate::services::audit_chain::ChainKey;
use crate::services::page_link::LinkKey;
use crate::services::revocations::Revocations;
use crate::store::{DatabaseUrl, MasterKeys, Store, StoreSettings, migrate};
use crate::web::rate_limit::Limiter;

/// What was made.
pub(super) struct Made {
    pub(super) app: App,
    pub(super) wanted: Wanted,
    pub(super) club: DemoClub,
    /// Signs the sandbox's tokens, and is then thrown away.
    pub(super) key: LocalKey,
    pub(super) folder: TempDir,
}

/// Makes a sandbox, once it is the caller's turn.
pub(super) async fn make(wanted: Wanted, turn: OwnedMutexGuard<()>) -> Result<Made, Problem> {
    let base = aside(async move || Base::open()).await?;
    let began = morning(wanted)?;
    let (app, key, folder) = base.app(began, wanted)?;
    let filled = app.clone();
    let club = aside(async move || {
        let club = demo::build(&filled, wanted.date, wanted.seed.into()).await;
        // Until here, also where the request was given up.
        drop(turn);
        club
    })
    .await?;
    Ok(Made {
        app,
        wanted,
        club,
        key,
        folder,
    })
}

/// When the clock begins: at seven on the date, in the club's zone.
fn morning(wanted: Wanted) -> Result<Timestamp, Problem> {
    let zone = TimeZone::get(demo::ZONE).map_err(internal)?;
    let morning = wanted.date.at(7, 0, 0, 0).to_zoned_datetime(zone);
    Ok(morning.map_err(internal)?.timestamp())
}

/// What lies under an application.
struct Base {
    folder: TempDir,
    config: Config,
    store: Store,
    chain: ChainKey,
    links: LinkKey,
}

impl Base {
    /// Makes folder, keys and database. Blocks.
    fn open() -> Result<Self, Problem> {
        let folder = tempfile::Builder::new()
            .prefix("plimsoll-sandbox-")
            .tempdir()
            .map_err(internal)?;
        let config = config(folder.path());
        let url: DatabaseUrl = config.database_url.parse().map_err(internal)?;
        migrate::apply(&url)?;
        let secrets = key_file::secrets(&config.master_key).map_err(internal)?;
        let masters = MasterKeys::new(&secrets).map_err(internal)?;
        Ok(Self {
            store: Store::connect(&url, StoreSettings::default(), masters)?,
            chain: ChainKey::open(&config.audit_key).map_err(internal)?,
            links: LinkKey::open(&config.page_key).map_err(internal)?,
            folder,
            config,
        })
    }

    /// The application on it, whose audit list is written by the runtime that this is called in.
    fn app(self, began: Timestamp, wanted: Wanted) -> Result<(App, LocalKey, TempDir), Problem> {
        let hand = Hand::starting_at(began);
        let key = LocalKey::generate().map_err(internal)?;
        let verifier = Verifier::new(&AuthSettings::default(), Some(&key)).map_err(internal)?;
        let app = App::new(Parts {
            revocations: Revocations::default(),
            closing: Watch::default(),
            looking_ahead: Watch::default(),
            signing: Watch::default(),
            retention: Watch::default(),
            stop: tokio::sync::watch::Sender::new(false),
            audit: AuditLog::start(self.store.clone(), self.chain),
            links: self.links,
            sandboxes: Sandboxes::new(Switch::Off),
            limiter: Limiter::new(RateLimit::Off),
            ids: Ids::seeded(of_seed_and_date(wanted)),
            clock: hand.clock(),
            hand: Some(hand),
            clock_watch: ClockWatch::new(),
            store: self.store,
            verifier,
            config: self.config,
        });
        Ok((app, key, self.folder))
    }
}

/// Ids start from the seed, marked off from those of the demo, whose clubs may be live ones. The date is in them already.
fn of_seed_and_date(wanted: Wanted) -> u64 {
    u64::from(wanted.seed) | (1 << 63)
}

/// Everything in the folder. Recipients of mail can be named as where mail is sent, but nothing is (RFC 2606, section 2).
fn config(folder: &Path) -> Config {
    Config {
        database_url: format!("sqlite://{}", folder.join("sandbox.sqlite").display()),
        local_issuer: Switch::On,
        audit_key: folder.join("audit.key"),
        audit_sign_key: folder.join("audit-sign.key"),
        audit_heads: folder.join("audit-heads.jsonl"),
        erasures: folder.join("erasures.jsonl"),
        page_key: folder.join("page.key"),
        master_key: folder.join("master.key"),
        smtp_url: Some("smtps://mail.example.invalid".into()),
        smtp_from: Some("sandbox@example.invalid".to_owned()),
        public_url: Some("https://sandbox.example.invalid".to_owned()),
        jobs: Switch::Off,
        ..Config::default()
    }
}

fn internal(error: impl std::fmt::Display) -> Problem {
    Problem::internal(&error)
}
