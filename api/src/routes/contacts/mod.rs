//! Landings and throws counted in a session, and what they come to.

mod answer;
mod athlete;
mod delete;
mod put;
mod read;

pub use answer::{AgainstJumpRule, NOTE};

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of counts.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(put::put)
        .service(read::read)
        .service(delete::delete)
        .service(athlete::read);
}
