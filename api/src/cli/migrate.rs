//! `plimsoll migrate [--check]`.

use super::{Failure, say};
use crate::config::Config;
use crate::store::{DatabaseUrl, migrate};

/// Arguments of `migrate`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Only report pending migrations; exit 1 where there are any.
    #[arg(long)]
    check: bool,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let url: DatabaseUrl = config.database_url.parse().map_err(Failure::found)?;
    let pending = migrate::pending(&url).map_err(Failure::found)?;
    for name in &pending {
        say(&format!("pending {name}"))?;
    }
    if pending.is_empty() {
        return say("up to date");
    }
    if arguments.check {
        return Err(Failure::Found(
            "migrations are pending; run `plimsoll migrate`".into(),
        ));
    }
    let applied = migrate::apply(&url).map_err(Failure::found)?;
    say(&format!("applied {}", applied.len()))
}
