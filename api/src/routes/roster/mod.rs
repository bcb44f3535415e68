//! Rosters.

mod import;
mod second_copies;
mod sources;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of rosters.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(import::import)
        .configure(second_copies::configure)
        .configure(sources::configure);
}
