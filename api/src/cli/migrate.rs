//! `plimsoll migrate [--check]`.

use super::{Failure, say, start};
use crate::config::Config;
use crate::store::migrate;

/// Arguments of `migrate`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Only report pending migrations; exit 1 where there are any.
    #[arg(long)]
    check: bool,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let config = config.clone();
    let check = arguments.check;
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::Leave).await?;
        let pending = migrate::pending_all(&app.store).await.map_err(Failure::found)?;
        for name in &pending {
            say(&format!("pending {name}"));
        }
        if pending.is_empty() {
            say("up to date");
            return Ok(());
        }
        if check {
            return Err(Failure::Found("migrations are pending; run `plimsoll migrate`".into()));
        }
        migrate::apply_all(&app.store).await.map_err(Failure::found)?;
        say(&format!("applied {}", pending.len()));
        Ok(())
    })
}
