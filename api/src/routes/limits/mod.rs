//! What callers have to keep to.

mod answer;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The route of limits.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read);
}
