//! What athletes say about pain.

mod create;
mod delete;
mod list;
mod read;

use crate::routes::Routes;

/// The routes of pain reports.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(delete::delete);
}
