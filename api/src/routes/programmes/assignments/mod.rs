//! Who does a programme, and when.

mod delete;
mod list;
mod put;
mod read;

use crate::routes::Routes;

/// The routes of assignments.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(delete::delete);
}
