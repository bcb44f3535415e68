//! `plimsoll close-week --week 2026-W45 [--club ID]`.

use plimsoll_domain::IsoWeek;

use super::{Failure, say, start};
use crate::app::App;
use crate::config::Config;
use crate::ids::ClubId;
use crate::services::weekly_close::{self, Closing};
use crate::store::{Tenant, clubs};

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
            Some(club) => vec![club],
            None => every_club(&app).await?,
        };
        let mut open = 0;
        for club in clubs {
            let closing = weekly_close::close(&app, Tenant::granted(club), week).await;
            let closing = closing.map_err(|problem| Failure::Found(problem.detail))?;
            open += usize::from(closing == Closing::NotOver);
            say(&format!("{club} {week} {}", words(closing)));
        }
        if open > 0 {
            let detail = format!("{week} is not over yet in {open} club(s); close it afterwards");
            return Err(Failure::Found(detail));
        }
        Ok(())
    })
}

/// The ids of all clubs, page by page.
async fn every_club(app: &App) -> Result<Vec<ClubId>, Failure> {
    let mut found: Vec<ClubId> = Vec::new();
    loop {
        let after = found.last().copied();
        let page = app
            .store
            .read(move |conn| clubs::list_all(conn, after, 500))
            .await;
        let page = page.map_err(Failure::found)?;
        if page.is_empty() {
            return Ok(found);
        }
        found.extend(page.iter().map(|club| club.club_id));
    }
}

fn words(closing: Closing) -> &'static str {
    match closing {
        Closing::Closed => "closed",
        Closing::ClosedBefore => "was closed before",
        Closing::NotOver => "is not over yet",
    }
}

fn week(text: &str) -> Result<IsoWeek, String> {
    text.parse()
        .map_err(|_| "a week is written as 2026-W45".to_owned())
}
