//! Weeks: of one athlete, and the weekly list of a squad.

mod ahead;
mod athlete;
mod closed;
mod entry;
mod squad;
mod usual_week;
mod week;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of weeks.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(athlete::list).service(squad::read);
}
