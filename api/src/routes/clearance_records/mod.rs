//! Clearance records: read and added to, never changed.

mod create;
mod list;
mod read;

use crate::routes::Routes;

/// The routes of clearance records.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read);
}
