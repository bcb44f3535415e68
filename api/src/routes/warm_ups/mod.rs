//! The neuromuscular warm-ups of planned sessions, as they were held.

mod delete;
mod put;
mod read;

use crate::routes::Routes;

/// The routes of warm-ups.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(put::put)
        .service(read::read)
        .service(delete::delete);
}
