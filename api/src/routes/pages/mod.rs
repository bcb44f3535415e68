//! Links to pages.

mod open;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of links.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(open::open);
}
