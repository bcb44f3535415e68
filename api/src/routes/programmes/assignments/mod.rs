//! Who does a programme, and when.

mod delete;
mod list;
mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of assignments.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(delete::delete);
}
