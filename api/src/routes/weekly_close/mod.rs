//! When a club's week is closed.

mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of the closing time.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read).service(put::put);
}
