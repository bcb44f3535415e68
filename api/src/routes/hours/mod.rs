//! An athlete's organised time.

mod read;

use crate::routes::Routes;

/// The routes of hours.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read);
}
