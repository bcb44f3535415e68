//! Users.

mod create;
mod delete;
mod list;
mod patch;
mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of users.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(delete::delete);
}
