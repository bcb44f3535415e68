//! What athletes and guardians ask, and what a strength coach tells them.

mod create;
mod list;
mod patch;
mod read;

use crate::routes::Routes;

/// The routes of questions.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(patch::patch);
}
