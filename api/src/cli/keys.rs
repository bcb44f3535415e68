//! `plimsoll keys rotate [--club ID]` and `plimsoll keys rewrap`.

use clap::Subcommand;

use super::{Failure, say, start};
use crate::config::Config;
use crate::ids::ClubId;
use crate::services::keys;

/// Arguments of `keys`.
#[derive(Debug, Subcommand)]
pub(super) enum Arguments {
    /// Seal what is private under a new key, while the service runs; one that was broken off goes on.
    Rotate {
        /// Only this club; every club unless given.
        #[arg(long)]
        club: Option<ClubId>,
    },
    /// Wrap the clubs' keys with the newest master key, the last line of its file.
    Rewrap,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        match arguments {
            Arguments::Rotate { club } => {
                let clubs = match club {
                    Some(club) => vec![start::club(&app, *club).await?],
                    None => start::every_club(&app).await?,
                };
                for tenant in clubs {
                    let rotated = keys::rotate(&app.store, tenant, app.clock).await;
                    let rotated = rotated.map_err(Failure::found)?;
                    say(&format!(
                        "{} key {}, {} values sealed, {} keys retired",
                        tenant.club_id(),
                        rotated.number,
                        rotated.values,
                        rotated.retired
                    ))?;
                }
                Ok(())
            }
            Arguments::Rewrap => {
                let count = keys::rewrap(&app.store).await.map_err(Failure::found)?;
                say(&format!(
                    "{count} keys of clubs wrapped with the newest master key"
                ))
            }
        }
    })
}
