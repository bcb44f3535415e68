//! Flags of closed weeks, and what was done about them.

mod acknowledge;
mod answer;
mod list;
mod read;

use crate::routes::Routes;

/// The routes of flags.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(acknowledge::acknowledge);
}
