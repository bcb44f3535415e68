//! Landings and throws counted in a session, and what they come to.

mod answer;
mod athlete;
mod delete;
mod put;
mod read;

pub use answer::{AgainstJumpRule, NOTE};

use crate::routes::Routes;

/// The routes of counts.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(put::put)
        .service(read::read)
        .service(delete::delete)
        .service(athlete::read);
}
