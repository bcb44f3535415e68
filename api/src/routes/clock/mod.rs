//! The clock of a sandbox.

mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of clocks.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read).service(put::put);
}
