//! Sandboxes: clubs of invented people to try a program against, made and removed by the operator.

mod create;
mod list;
mod remove;

use crate::routes::Routes;

/// The routes of sandboxes.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(remove::remove);
}
