//! Flags of closed weeks, and what was done about them.

mod acknowledge;
mod answer;
mod list;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of flags.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(acknowledge::acknowledge);
}
