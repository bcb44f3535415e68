//! The roster as a directory keeps it, by SCIM 2.0.

mod config;
mod groups;
mod resource_types;
mod schemas;
mod search;
pub mod shapes;
mod users;

use crate::routes::Routes;

/// The routes of directories.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(config::read)
        .service(resource_types::list)
        .service(resource_types::read)
        .service(schemas::list)
        .service(schemas::read)
        .service(search::all)
        .service(search::users)
        .service(search::groups)
        .configure(users::configure)
        .configure(groups::configure);
}
