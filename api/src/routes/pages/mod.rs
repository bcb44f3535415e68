//! Links to pages.

mod open;

use crate::routes::Routes;

/// The routes of links.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(open::open);
}
