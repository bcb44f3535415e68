//! What a joiner says of the time before.

mod create;
mod delete;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of declared history.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(read::read)
        .service(delete::delete);
}
