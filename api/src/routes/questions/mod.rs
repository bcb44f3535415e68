//! What athletes and guardians ask, and what a strength coach tells them.

mod create;
mod list;
mod patch;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of questions.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(patch::patch);
}
