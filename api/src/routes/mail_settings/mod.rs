//! How a club's mail looks, when it goes out, and whether it names athletes.

mod names;
mod put;
mod put_names;
mod read;

use crate::routes::Routes;

/// The routes of mail settings.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(read::read)
        .service(put::put)
        .service(names::read)
        .service(put_names::put);
}
