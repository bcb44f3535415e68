//! How long a club keeps what of athletes who have left, and what is due.

mod answer;
mod due;
mod put;
mod read;

use crate::routes::Routes;

/// The routes of retention.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(read::read)
        .service(put::put)
        .service(due::list);
}
