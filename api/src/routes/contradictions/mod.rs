//! Sessions that a person should look at.

mod list;

use crate::routes::Routes;

/// The route of contradictions.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(list::list);
}
