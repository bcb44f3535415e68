//! Holds: what keeps an athlete's records from being erased by itself.

mod create;
mod delete;
mod list;

use crate::routes::Routes;

/// The routes of holds.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(delete::delete);
}
