//! Revoking tokens: a lost telephone, a coach who left, a leaked credential.

mod answer;
mod lift;
mod list;
mod revoke;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of revocations.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(list::list)
        .service(revoke::revoke)
        .service(lift::lift);
}
