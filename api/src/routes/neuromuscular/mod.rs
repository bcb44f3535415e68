//! The dose of neuromuscular warm-up of an athlete and of a squad.

mod answer;
mod athlete;
mod squad;

pub use answer::{AgainstDose, WarmUpDose};

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of doses.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(athlete::read).service(squad::read);
}
