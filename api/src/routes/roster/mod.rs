//! Rosters.

mod import;
mod second_copies;
mod sources;

use crate::routes::Routes;

/// The routes of rosters.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(import::import)
        .configure(second_copies::configure)
        .configure(sources::configure);
}
