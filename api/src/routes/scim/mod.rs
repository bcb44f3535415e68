//! The roster as a directory keeps it, by SCIM 2.0.

mod config;
mod groups;
mod resource_types;
mod schemas;
mod search;
pub mod shapes;
mod users;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of directories.
pub fn configure(routes: &mut ServiceConfig<'_>) {
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
