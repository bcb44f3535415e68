//! An athlete's load, day by day.

mod read;

use crate::routes::Routes;

/// The routes of loads.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read);
}
