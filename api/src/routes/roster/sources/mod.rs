//! Roster apps that are pulled.

mod delete;
mod list;
mod pull;
mod put;
mod read;
mod test;

use crate::ids::{ClubId, RosterSourceId};
use crate::routes::Routes;

/// The routes of roster sources.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(delete::delete)
        .service(test::test)
        .service(pull::pull);
}

/// Where a source is.
fn location(club: ClubId, source: RosterSourceId) -> String {
    format!("/v1/clubs/{club}/roster/sources/{source}")
}
