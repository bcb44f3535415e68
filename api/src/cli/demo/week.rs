//! The week in print: each squad's list, then the caution once.

use plimsoll_domain::{Certainty, Entry};

use crate::app::App;
use crate::cli::{Failure, say};
use crate::demo::DemoClub;
use crate::ids::AthleteId;
use crate::services::weekly_list::{self, Wanted};
use crate::store::{Known, Tenant};
use crate::web::figures::{CAUTION, RATIO_NOTE};

pub(super) async fn print(app: &App, club: &DemoClub) -> Result<(), Failure> {
    say(&format!(
        "{}, week {}: who needs a decision",
        club.name, club.week
    ))?;
    for (squad_id, name) in &club.squads {
        let wanted = Wanted {
            squad_id: *squad_id,
            week: club.week,
            known: Known::Now,
            now: app.clock.now(),
        };
        let tenant = Tenant::granted(club.club_id);
        let read = app
            .store
            .snapshot(move |conn| weekly_list::read(conn, tenant, wanted))
            .await;
        let list = read
            .map_err(|problem| Failure::Found(problem.to_string()))?
            .list;
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
    }
    say(&format!("\n{CAUTION}\n{RATIO_NOTE}"))
}

fn line(entry: &Entry<AthleteId>) -> String {
    let certainty = entry.certainty.map_or("cannot say", Certainty::code);
    format!("  {} ({certainty}): {}", entry.display_name, entry.sentence)
}
