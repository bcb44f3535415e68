//! Rest days.

mod create;
mod delete;
mod list;
mod read;

use crate::routes::Routes;

/// The routes of rest days.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(delete::delete);
}
