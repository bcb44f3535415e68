//! The clock of a sandbox.

mod put;
mod read;

use crate::routes::Routes;

/// The routes of clocks.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read).service(put::put);
}
