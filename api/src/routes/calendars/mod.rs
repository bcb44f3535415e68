//! Calendars that planned sessions come from.

mod create;
mod delete;
mod list;
mod patch;
mod put;
mod read;
mod unmapped;

use crate::ids::{CalendarId, ClubId};
use crate::routes::Routes;

/// The routes of calendars.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(delete::delete)
        .service(unmapped::read);
}

/// Where a calendar is.
fn location(club: ClubId, calendar: CalendarId) -> String {
    format!("/v1/clubs/{club}/calendars/{calendar}")
}
