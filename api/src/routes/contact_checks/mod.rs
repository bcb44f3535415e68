//! Landing contacts of planned items.

mod answer;
mod check;
mod programme;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of contact checks.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(check::check);
}
