//! Notices, and how each fared.

mod deliveries;
mod list;
mod redeliver;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of notices.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(list::list)
        .service(deliveries::list)
        .service(redeliver::redeliver);
}
