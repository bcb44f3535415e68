//! `plimsoll audit …`: one file a command.

mod heads;
mod verify;

use clap::Subcommand;

use super::{Failure, start};
use crate::app::App;
use crate::config::Config;
use crate::ids::ClubId;
use crate::store::Tenant;

/// Arguments of `audit`.
#[derive(Debug, Subcommand)]
pub(super) enum Arguments {
    /// Recompute the chain of the audit list and name the first bad row.
    Verify(verify::Arguments),
    /// Print where each club's audit list ends now, signed, to be kept elsewhere.
    Heads {
        /// Only this club; every club unless given.
        #[arg(long)]
        club: Option<ClubId>,
    },
    /// Print the public key that signed heads are checked with.
    PublicKey,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    match arguments {
        Arguments::Verify(arguments) => verify::run(config, arguments),
        Arguments::Heads { club } => heads::run(config, *club),
        Arguments::PublicKey => heads::public_key(config),
    }
}

/// The club that was named, else all.
async fn clubs(app: &App, club: Option<ClubId>) -> Result<Vec<Tenant>, Failure> {
    match club {
        Some(club) => Ok(vec![start::club(app, club).await?]),
        None => start::every_club(app).await,
    }
}
