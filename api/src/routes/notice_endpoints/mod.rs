//! Where notices go.

mod create;
mod delete;
mod list;
mod patch;
mod read;
mod redeliver;
mod rotate;
mod try_out;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of notice endpoints.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(list::list)
        .service(create::create)
        .service(read::read)
        .service(patch::patch)
        .service(delete::delete)
        .service(rotate::rotate)
        .service(try_out::try_out)
        .service(redeliver::redeliver);
}
