//! Rosters.

mod import;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of rosters.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(import::import);
}
