//! An athlete's organised time.

mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of hours.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read);
}
