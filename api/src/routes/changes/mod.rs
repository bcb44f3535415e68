//! What has changed in a club.

mod list;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of changes.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(list::list);
}
