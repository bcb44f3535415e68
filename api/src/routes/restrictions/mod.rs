//! Restrictions.

mod create;
mod delete;
mod list;
mod patch;
mod put;
mod read;

use crate::ids::{ClubId, RestrictionId};
use crate::routes::Routes;

/// The routes of restrictions.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(delete::delete);
}

/// Where a restriction is.
fn location(club: ClubId, restriction: RestrictionId) -> String {
    format!("/v1/clubs/{club}/restrictions/{restriction}")
}
