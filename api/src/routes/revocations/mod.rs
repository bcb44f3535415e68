//! Revoking tokens: a lost telephone, a coach who left, a leaked credential.

mod answer;
mod lift;
mod list;
mod revoke;

use crate::routes::Routes;

/// The routes of revocations.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(revoke::revoke)
        .service(lift::lift);
}
