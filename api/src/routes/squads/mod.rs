//! Squads.

mod create;
mod list;
mod patch;
mod put;
mod read;
pub(in crate::routes) mod today;

pub(crate) use today::{ExpectedAt, TodayAnswer, TodayAthlete, TodaySession};

use crate::ids::{ClubId, SquadId};
use crate::routes::Routes;

/// The routes of squads.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(today::read);
}

/// Where a squad is.
fn location(club: ClubId, squad: SquadId) -> String {
    format!("/v1/clubs/{club}/squads/{squad}")
}
