//! An athlete's load, day by day.

mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of loads.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read);
}
