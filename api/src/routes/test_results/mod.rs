//! Results of physical tests.

mod create;
mod delete;
mod list;
mod put;
mod read;

use crate::ids::{ClubId, TestResultId};
use crate::routes::Routes;

/// The routes of results of tests.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(delete::delete);
}

/// Where a result is.
fn location(club: ClubId, id: TestResultId) -> String {
    format!("/v1/clubs/{club}/tests/{id}")
}
