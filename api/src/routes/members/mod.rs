//! Members of squads.

mod create;
mod delete;
mod list;
mod patch;
mod read;

use crate::routes::Routes;

/// The routes of members.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(patch::patch)
        .service(delete::delete);
}
