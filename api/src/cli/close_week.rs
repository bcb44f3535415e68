//! `plimsoll close-week --week 2026-W45 [--club ID]`.

use plimsoll_domain::IsoWeek;

use super::{Failure, say, start};
use crate::config::Config;
use crate::ids::ClubId;
use crate::services::weekly_close::{self, Closing};

/// Arguments of `close-week`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// The ISO week, as 2026-W45.
    #[arg(long, value_parser = week)]
    week: IsoWeek,
    /// Only this club; every club unless given.
    #[arg(long)]
    club: Option<ClubId>,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let (config, week, club) = (config.clone(), arguments.week, arguments.club);
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let clubs = match club {
            Some(club) => vec![start::club(&app, club).await?],
            None => start::every_club(&app).await?,
        };
        let (mut open, mut failed) = (0, 0);
        for tenant in clubs {
            // One club's failure does not keep the others waiting.
            let outcome = match weekly_close::close(&app, tenant, week).await {
                Ok(closing) => {
                    open += usize::from(closing == Closing::NotOver);
                    words(closing).to_owned()
                }
                Err(problem) => {
                    failed += 1;
                    format!("failed: {}", problem.detail)
                }
            };
            say(&format!("{} {week} {outcome}", tenant.club_id()))?;
        }
        match (open, failed) {
            (0, 0) => Ok(()),
            (_, 0) => Err(Failure::Found(format!(
                "{week} is not over yet in {open} club(s); close it afterwards"
            ))),
            _ => Err(Failure::Found(format!(
                "{week} could not be closed in {failed} club(s); try again, then look at the log"
            ))),
        }
    })
}

fn words(closing: Closing) -> &'static str {
    match closing {
        Closing::Closed { .. } => "closed",
        Closing::ClosedBefore => "was closed before",
        Closing::NotOver => "is not over yet",
    }
}

pub(super) fn week(text: &str) -> Result<IsoWeek, String> {
    text.parse()
        .map_err(|_| "a week is written as 2026-W45".to_owned())
}
