//! Sandboxes: clubs of invented people to try a program against, made and removed by the operator.

mod create;
mod list;
mod remove;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of sandboxes.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(remove::remove);
}
