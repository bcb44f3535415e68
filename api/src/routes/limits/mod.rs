//! What callers have to keep to.

mod answer;
mod read;

use crate::routes::Routes;

/// The route of limits.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read);
}
