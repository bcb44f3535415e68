//! Whether and when a club looks ahead to the weekend.

mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of the setting.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read).service(put::put);
}
