//! Rosters.

mod import;
mod sources;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of rosters.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(import::import).configure(sources::configure);
}
