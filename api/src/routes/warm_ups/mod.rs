//! The neuromuscular warm-ups of planned sessions, as they were held.

mod delete;
mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of warm-ups.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(put::put)
        .service(read::read)
        .service(delete::delete);
}
