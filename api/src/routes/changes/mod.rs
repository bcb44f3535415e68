//! What has changed in a club.

mod list;

use crate::routes::Routes;

/// The routes of changes.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(list::list);
}
