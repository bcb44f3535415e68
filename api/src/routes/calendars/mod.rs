//! Calendars that planned sessions come from.

mod create;
mod delete;
mod list;
mod patch;
mod put;
mod read;
mod unmapped;

use utoipa_actix_web::service_config::ServiceConfig;

use crate::ids::{CalendarId, ClubId};

/// The routes of calendars.
pub fn configure(routes: &mut ServiceConfig<'_>) {
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
