//! Sessions that a person should look at.

mod list;

use utoipa_actix_web::service_config::ServiceConfig;

/// The route of contradictions.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(list::list);
}
