//! Holds: what keeps an athlete's records from being erased by itself.

mod create;
mod delete;
mod list;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of holds.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(delete::delete);
}
