//! Clubs: made by the operator, kept by the club's administrator.

mod create;
mod patch;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of clubs.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(read::read)
        .service(patch::patch);
}
