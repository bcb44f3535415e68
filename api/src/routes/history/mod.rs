//! An athlete's history, for clinicians.

mod answer;
mod clinical;
mod not_known;
mod read;
mod since_return;
mod tests_of_sides;
mod weeks;
mod words;

pub use answer::HistoryAnswer;
pub use since_return::{BackShare, ReturnStep};
pub use tests_of_sides::{SideResult, TestedDay};
pub use weeks::{KindOfSession, WeekOfHistory};

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of histories.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read);
}
