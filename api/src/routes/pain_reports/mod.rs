//! What athletes say about pain.

mod create;
mod delete;
mod list;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of pain reports.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(delete::delete);
}
