//! `plimsoll check`: settings, database, migrations, key sets, clock: a line each.

use super::{Failure, say, start, tell};
use crate::clock::Clock;
use crate::config::Config;
use crate::store::{DatabaseUrl, Store, StoreSettings, clubs, migrate};

pub(super) fn run(config: &Config) -> Result<(), Failure> {
    say("ok settings");
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let mut wrong = 0;
        wrong += report("database", database(&config).await);
        wrong += report("migrations", migrations(&config));
        wrong += keys(&config).await;
        say(&format!(
            "ok clock {}",
            config.clock.map_or(Clock::SYSTEM, Clock::starting_at).now()
        ));
        match wrong {
            0 => Ok(()),
            some => Err(Failure::Found(format!(
                "{some} of the above must be put right"
            ))),
        }
    })
}

fn report(what: &str, outcome: Result<String, String>) -> usize {
    match outcome {
        Ok(detail) => {
            say(&format!("ok {what} {detail}"));
            0
        }
        Err(remedy) => {
            tell(&format!("wrong {what}: {remedy}"));
            1
        }
    }
}

async fn database(config: &Config) -> Result<String, String> {
    let url: DatabaseUrl = config.database_url.parse().map_err(text)?;
    if url.is_sqlite() && !migrate::pending(&url).map_err(text)?.is_empty() {
        // Looking must not make the file.
        return Ok(format!("{url} will be made or brought up to date at start"));
    }
    let store = Store::connect(&url, StoreSettings::default()).map_err(text)?;
    store
        .read(|conn| clubs::list_all(conn, None, 1))
        .await
        .map_err(text)?;
    Ok(url.to_string())
}

fn migrations(config: &Config) -> Result<String, String> {
    let url: DatabaseUrl = config.database_url.parse().map_err(text)?;
    let pending = migrate::pending(&url).map_err(text)?;
    if pending.is_empty() || url.is_sqlite() || config.migrate.is_on() {
        return Ok(format!("{} pending", pending.len()));
    }
    Err(format!("{} pending; run `plimsoll migrate`", pending.len()))
}

async fn keys(config: &Config) -> usize {
    let verifier = match start::verifier(config).await {
        Ok(verifier) => verifier,
        Err(failure) => return report("keys", Err(failure.to_string())),
    };
    let now = config.clock.map_or(Clock::SYSTEM, Clock::starting_at).now();
    let sets = verifier.key_sets(now);
    if sets.is_empty() && !config.local_issuer.is_on() {
        let remedy = "no issuer is set, so every request is refused; name one in auth.issuers";
        return report("keys", Err(remedy.to_owned()));
    }
    let of_issuers = sets.into_iter().map(|set| {
        let outcome = match set.last_error {
            None if set.usable => Ok(format!("{} ({} keys)", set.issuer, set.keys)),
            Some(error) => Err(format!("{}: {error}; check jwks_url", set.issuer)),
            None => Err(format!("{} has no usable key; ask the issuer", set.issuer)),
        };
        report("keys", outcome)
    });
    of_issuers.sum()
}

fn text(error: impl std::fmt::Display) -> String {
    error.to_string()
}
