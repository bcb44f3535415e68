//! What a joiner says of the time before.

mod create;
mod delete;
mod read;

use crate::routes::Routes;

/// The routes of declared history.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(read::read)
        .service(delete::delete);
}
