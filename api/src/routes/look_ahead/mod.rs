//! Whether and when a club looks ahead to the weekend.

mod put;
mod read;

use crate::routes::Routes;

/// The routes of the setting.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read).service(put::put);
}
