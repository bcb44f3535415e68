//! Planned sessions.

mod create;
mod delete;
mod list;
mod patch;
mod put;
mod read;

use crate::routes::Routes;

/// The routes of planned sessions.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(delete::delete);
}

/// Where an event is.
fn location(club: crate::ids::ClubId, event: crate::ids::EventId) -> String {
    format!("/v1/clubs/{club}/events/{event}")
}
