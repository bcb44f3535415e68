//! Records that are perhaps one person.

mod list;
mod patch;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of second copies.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(patch::patch);
}
