//! Organisations that an athlete trains with elsewhere, and the codes by which they share her day totals.

mod create;
mod delete;
mod list;

use crate::routes::Routes;

/// The routes of sharing.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(delete::delete);
}
