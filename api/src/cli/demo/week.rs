//! The week in print: each squad's list, then the caution once.

use plimsoll_domain::{Ahead, Certainty, Entry};

use crate::app::App;
use crate::cli::{Failure, say};
use crate::demo::DemoClub;
use crate::ids::AthleteId;
use crate::services::as_of;
use crate::services::weekly_list::{self, Wanted};
use crate::store::Tenant;
use crate::web::figures::{CAUTION, RATIO_NOTE};

pub(super) async fn print(app: &App, club: &DemoClub) -> Result<(), Failure> {
    say(&format!(
        "{}, week {}: who needs a decision",
        club.name, club.week
    ))?;
    for (squad_id, name) in &club.squads {
        let (squad_id, week) = (*squad_id, club.week);
        let tenant = Tenant::granted(club.club_id);
        let read = as_of::read(app, tenant, None, move |conn, as_of| {
            let wanted = Wanted {
                squad_id,
                week,
                as_of,
            };
            weekly_list::read(conn, tenant, wanted)
        })
        .await;
        let read = read.map_err(|problem| Failure::Found(problem.to_string()))?;
        let list = read.list;
        say(&format!(
            "\n{name}: {} of {}",
            list.entries.len(),
            list.entries.len() + list.not_listed
        ))?;
        if let Some(line) = &list.mostly_unlogged {
            say(&format!("  {}", line.sentence))?;
        }
        list.entries
            .iter()
            .try_for_each(|entry| say(&line(entry)))?;
        week_ahead(&read.ahead.unwrap_or_default())?;
    }
    say(&format!("\n{CAUTION}\n{RATIO_NOTE}"))
}

/// Who will, or may, be over a limit in the week after, by what is planned.
fn week_ahead(ahead: &[Ahead<AthleteId>]) -> Result<(), Failure> {
    if ahead.is_empty() {
        return Ok(());
    }
    say("  The week ahead, as planned:")?;
    ahead.iter().try_for_each(|one| {
        let certainty = one.judgement.certainty();
        let certainty = certainty.map_or("cannot say", Certainty::code);
        say(&format!(
            "    {} ({certainty}): {}",
            one.display_name, one.sentence
        ))
    })
}

fn line(entry: &Entry<AthleteId>) -> String {
    let certainty = entry.certainty.map_or("cannot say", Certainty::code);
    format!("  {} ({certainty}): {}", entry.display_name, entry.sentence)
}
