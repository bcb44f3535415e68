//! Notices, and how each fared.

mod deliveries;
mod list;
mod redeliver;

use crate::routes::Routes;

/// The routes of notices.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(deliveries::list)
        .service(redeliver::redeliver);
}
