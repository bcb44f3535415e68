//! How long a club keeps what of athletes who have left, and what is due.

mod answer;
mod due;
mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of retention.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(read::read)
        .service(put::put)
        .service(due::list);
}
