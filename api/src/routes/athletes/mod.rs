//! Athletes.

mod availability;
mod create;
mod list;
mod patch;
mod put;
mod read;
pub(in crate::routes) mod search;

use crate::ids::{AthleteId, ClubId};
use crate::routes::Routes;

/// The routes of athletes.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(search::search)
        .service(read::read)
        .service(availability::read)
        .service(put::put)
        .service(patch::patch);
}

/// Where an athlete is.
fn location(club: ClubId, athlete: AthleteId) -> String {
    format!("/v1/clubs/{club}/athletes/{athlete}")
}
