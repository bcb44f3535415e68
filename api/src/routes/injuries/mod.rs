//! Injuries.

mod create;
mod delete;
mod list;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of injuries.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(delete::delete);
}
