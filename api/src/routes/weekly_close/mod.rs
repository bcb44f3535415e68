//! When a club's week is closed.

mod put;
mod read;

use crate::routes::Routes;

/// The routes of the closing time.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read).service(put::put);
}
