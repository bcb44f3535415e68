//! How a club's mail looks, when it goes out, and whether it names athletes.

mod names;
mod put;
mod put_names;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of mail settings.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(read::read)
        .service(put::put)
        .service(names::read)
        .service(put_names::put);
}
