//! Session reports, one at a time and in bulk.

mod bulk;
pub(in crate::routes) mod delete;
mod list;
mod patch;
mod put;
mod read;
mod record;

use crate::routes::Routes;

/// The routes of session reports.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(record::record)
        .service(list::list)
        .service(bulk::record_many)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(delete::delete);
}

/// Where a report is.
fn location(club: crate::ids::ClubId, session: crate::ids::SessionId) -> String {
    format!("/v1/clubs/{club}/sessions/{session}")
}
