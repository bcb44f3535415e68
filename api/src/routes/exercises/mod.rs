//! The catalogue of exercises.

mod delete;
mod list;
mod put;
mod read;

use crate::routes::Routes;

/// The routes of exercises.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(delete::delete);
}
