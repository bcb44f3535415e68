//! Landing contacts of planned items.

mod answer;
mod check;
mod programme;

pub use programme::HoursBetween;

use crate::routes::Routes;

/// The routes of contact checks.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(check::check);
}
