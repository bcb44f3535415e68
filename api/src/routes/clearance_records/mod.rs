//! Clearance records: read and added to, never changed.

mod create;
mod list;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of clearance records.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read);
}
