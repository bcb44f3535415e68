//! Weeks: of one athlete, and the weekly list of a squad.

mod athlete;
mod entry;
mod representation;
mod squad;
mod usual_week;
mod week;

pub(crate) use entry::{MissingSession, UsualRange, WeeklyEntry};
pub(crate) use squad::WeeklyListAnswer;
pub(crate) use usual_week::UsualWeek;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of weeks.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(athlete::list).service(squad::read);
}
