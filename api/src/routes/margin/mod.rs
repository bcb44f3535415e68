//! How far a running week is from the club's limit.

mod read;

use crate::routes::Routes;

/// The routes of margins.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read);
}
