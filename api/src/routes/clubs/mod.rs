//! Clubs: made by the operator, kept by the club's administrator.

mod create;
mod patch;
mod read;

use crate::routes::Routes;

/// The routes of clubs.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(read::read)
        .service(patch::patch);
}
