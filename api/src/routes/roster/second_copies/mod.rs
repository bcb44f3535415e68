//! Records that are perhaps one person.

mod list;
mod patch;
mod read;

use crate::routes::Routes;

/// The routes of second copies.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(patch::patch);
}
