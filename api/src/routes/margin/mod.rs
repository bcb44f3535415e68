//! How far a running week is from the club's limit.

mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of margins.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read);
}
