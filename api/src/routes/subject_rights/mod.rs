//! What somebody may ask for of her own data: all of it, and that it is erased.

mod copy;
mod erase;
mod list;

use crate::routes::Routes;

/// The routes of athletes' rights over their data.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(copy::read)
        .service(erase::erase)
        .service(list::list);
}
