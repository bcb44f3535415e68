//! `plimsoll check`: settings, database, migrations, key sets, audit, page and master key, mail server, clock: a line each.

use std::path::Path;

use super::{Failure, say, start};
use crate::auth::{KeySetStatus, LocalKey, Verifier};
use crate::clock::Clock;
use crate::config::Config;
use crate::delivery::smtp;
use crate::services::audit_chain::ChainKey;
use crate::services::page_link::LinkKey;
use crate::services::signed_heads::SignKey;
use crate::store::{
    Clubs, DatabaseUrl, MasterKeys, Store, StoreSettings, club_keys, migrate, wall,
};

pub(super) fn run(config: &Config) -> Result<(), Failure> {
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let clock = config.clock.map_or(Clock::SYSTEM, Clock::starting_at);
        let mut lines = vec![("settings", Ok(String::new()))];
        let database = database(&config).await;
        let reached = database.is_ok();
        lines.push(("database", database));
        if reached {
            lines.push(("migrations", migrations(&config)));
        }
        let keys = keys(&config, clock).await.into_iter();
        lines.extend(keys.map(|outcome| ("keys", outcome)));
        lines.push(("audit list", audit_key(&config.audit_key)));
        lines.push(("audit heads", sign_key(&config.audit_sign_key)));
        lines.push(("pages", page_key(&config.page_key)));
        lines.push(("private values", master_key(&config.master_key)));
        lines.push(("mail", mail(&config).await));
        lines.push(("clock", Ok(clock.now().to_string())));
        report(&lines)
    })
}

/// What was found in order, or what to do.
type Outcome = Result<String, String>;

fn report(lines: &[(&str, Outcome)]) -> Result<(), Failure> {
    for (what, outcome) in lines {
        match outcome {
            Ok(detail) => say(format!("ok {what} {detail}").trim_end())?,
            Err(remedy) => say(&format!("wrong {what}: {remedy}"))?,
        }
    }
    match lines.iter().filter(|(_, outcome)| outcome.is_err()).count() {
        0 => Ok(()),
        some => Err(Failure::Found(format!(
            "{some} of the above must be put right"
        ))),
    }
}

async fn database(config: &Config) -> Outcome {
    let remedy = |error| format!("{error}; look at database_url and at the database");
    let url: DatabaseUrl = config.database_url.parse().map_err(one_line)?;
    if let DatabaseUrl::Sqlite(path) = &url
        && !path.exists()
    {
        // Looking must not make the file.
        return will_be_made(path);
    }
    let pending = migrate::pending(&url).map_err(one_line).map_err(remedy)?;
    if !pending.is_empty() {
        // The tables are not all there yet.
        return Ok(url.to_string());
    }
    let masters = match config.master_key.exists() {
        true => start::master_keys(&config.master_key).map_err(one_line)?,
        // Looking must not make that file either.
        false => MasterKeys::none(),
    };
    let store = Store::connect(&url, StoreSettings::default(), masters);
    let store = store.map_err(one_line).map_err(remedy)?;
    let unknown = store.read(Clubs::Every, club_keys::of_unknown_master).await;
    match unknown.map_err(one_line).map_err(remedy)? {
        0 => {}
        some => {
            return Err(format!(
                "{some} key(s) of clubs were wrapped with another master key; set master_key to the file with it"
            ));
        }
    }
    let passed_over = store.read(Clubs::Every, wall::passed_over_by).await;
    match passed_over.map_err(one_line).map_err(remedy)? {
        Some(role) if config.row_security.is_on() => Err(start::wall_remedy(&role)),
        _ => Ok(url.to_string()),
    }
}

fn migrations(config: &Config) -> Outcome {
    let url: DatabaseUrl = config.database_url.parse().map_err(one_line)?;
    let pending = migrate::pending(&url).map_err(one_line)?.len();
    if pending == 0 || url.is_sqlite() || config.migrate.is_on() {
        return Ok(format!("{pending} pending"));
    }
    Err(format!("{pending} pending; run `plimsoll migrate`"))
}

async fn keys(config: &Config, clock: Clock) -> Vec<Outcome> {
    let verifier = match Verifier::new(&config.auth, None) {
        Ok(verifier) => verifier,
        Err(error) => return vec![Err(one_line(error))],
    };
    verifier.renew_keys(clock.now()).await;
    let sets = verifier.key_sets(clock.now()).into_iter();
    let mut outcomes: Vec<Outcome> = sets.map(|set| key_set(&set)).collect();
    if config.local_issuer.is_on() {
        outcomes.push(local_key(&config.local_key));
    }
    if outcomes.is_empty() {
        let remedy = "no issuer is set, so every request is refused; name one in auth.issuers";
        outcomes.push(Err(remedy.to_owned()));
    }
    outcomes
}

/// Whether mail can be handed over, without handing any over.
async fn mail(config: &Config) -> Outcome {
    let Some(server) = config.mail_server().map_err(one_line)? else {
        return Ok("not set up, so clubs cannot name recipients".to_owned());
    };
    let place = format!("{}:{}", server.host, server.port);
    let opened = tokio::time::timeout(server.timeout, smtp::open(&server)).await;
    let remedy = |why: String| format!("{place}: {why}; look at smtp_url and at the mail server");
    match opened {
        Ok(Ok(mut connection)) => {
            connection.abort().await;
            Ok(format!("{place} takes mail from {}", server.from))
        }
        Ok(Err(error)) => Err(remedy(one_line(error))),
        Err(_) => Err(remedy("no answer in time".to_owned())),
    }
}

fn key_set(set: &KeySetStatus) -> Outcome {
    match &set.last_error {
        None if set.usable => Ok(format!("{} ({} keys)", set.issuer, set.keys)),
        Some(error) => Err(format!(
            "{}: {}; look at jwks_url",
            set.issuer,
            one_line(error)
        )),
        None => Err(format!("{} has no usable key; ask the issuer", set.issuer)),
    }
}

fn local_key(path: &Path) -> Outcome {
    key_file(path, "local development key", LocalKey::open)
}

fn audit_key(path: &Path) -> Outcome {
    key_file(path, "audit key", ChainKey::open)
}

fn sign_key(path: &Path) -> Outcome {
    key_file(path, "sign key", SignKey::open)
}

fn page_key(path: &Path) -> Outcome {
    key_file(path, "page key", LinkKey::open)
}

fn master_key(path: &Path) -> Outcome {
    key_file(path, "master key", start::master_keys)
}

fn key_file<K, E: std::fmt::Display>(
    path: &Path,
    what: &str,
    open: impl FnOnce(&Path) -> Result<K, E>,
) -> Outcome {
    if !path.exists() {
        return will_be_made(path);
    }
    match open(path) {
        Ok(_) => Ok(format!("{what} {}", path.display())),
        Err(error) => Err(format!("{}: {}", path.display(), one_line(error))),
    }
}

/// A file that is made at start needs its folder.
fn will_be_made(path: &Path) -> Outcome {
    let folder = path.parent().unwrap_or(Path::new(""));
    if folder.as_os_str().is_empty() || folder.is_dir() {
        return Ok(format!("{} will be made at start", path.display()));
    }
    Err(format!(
        "{} cannot be made, for there is no folder {}; make it",
        path.display(),
        folder.display()
    ))
}

/// A database's message may have several lines.
fn one_line(error: impl std::fmt::Display) -> String {
    let text = error.to_string();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
