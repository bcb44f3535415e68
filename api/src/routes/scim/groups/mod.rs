//! Groups.

mod create;
mod delete;
mod list;
mod patch;
mod put;
mod read;

use crate::routes::Routes;

/// The routes of groups.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(delete::delete);
}
