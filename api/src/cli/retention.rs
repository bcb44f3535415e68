//! `plimsoll retention run [--club ID] [--dry-run]`.

use clap::Subcommand;

use super::{Failure, say, start};
use crate::app::App;
use crate::config::Config;
use crate::ids::ClubId;
use crate::services::retention::run::{self, Outcome, Ran};
use crate::store::Tenant;

/// Arguments of `retention`.
#[derive(Debug, Subcommand)]
pub(super) enum Arguments {
    /// Make today's run now: erase what is due and was due at the run before; running it twice changes nothing.
    Run {
        /// Only this club; every club unless given.
        #[arg(long)]
        club: Option<ClubId>,
        /// Say what would be erased, and erase nothing.
        #[arg(long)]
        dry_run: bool,
    },
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let Arguments::Run { club, dry_run } = *arguments;
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        if !app.clock_watch.is_believed(&app.store).await {
            return Err(Failure::Found(
                "the machine's clock differs from the database's by more than a day; set it right first"
                    .to_owned(),
            ));
        }
        let clubs = match club {
            Some(club) => vec![start::club(&app, club).await?],
            None => start::every_club(&app).await?,
        };
        let mut failed = 0;
        for tenant in clubs {
            // One club's failure does not keep the others waiting.
            let said = of_club(&app, tenant, dry_run).await.unwrap_or_else(|said| {
                failed += 1;
                said
            });
            say(&format!("{} {said}", tenant.club_id()))?;
        }
        if !dry_run {
            run::clean(&app).await;
        }
        match failed {
            0 => Ok(()),
            _ => Err(Failure::Found(format!(
                "what is due of {failed} club(s) could not be erased; try again, then look at the log"
            ))),
        }
    })
}

/// What came of one club, in words; as an error where it failed.
async fn of_club(app: &App, tenant: Tenant, dry_run: bool) -> Result<String, String> {
    let outcome = match dry_run {
        true => run::trial(app, tenant).await,
        false => run::run(app, tenant).await,
    };
    let outcome = outcome.map_err(|problem| format!("failed: {}", problem.detail))?;
    match outcome {
        Outcome::NoTerms => Ok("keeps everything: it has no terms".to_owned()),
        Outcome::RunBefore => Ok("has today's run already".to_owned()),
        Outcome::ClockInDoubt => Err("failed: the machine's clock was set".to_owned()),
        Outcome::Ran(ran) => Ok(words(&ran, dry_run)),
    }
}

fn words(ran: &Ran, dry_run: bool) -> String {
    let erased = ran.erased.iter();
    let erased = erased.map(|(class, rows)| format!(", {} {rows} rows", class.code()));
    let erased: String = erased.collect();
    let done = if dry_run { "would be erased" } else { "erased" };
    format!(
        "{} {done}: {} athletes{erased}; on a later night: {}; held: {}",
        ran.night, ran.athletes, ran.waiting, ran.held
    )
}
