//! An athlete's history, for clinicians.

mod answer;
mod clinical;
mod read;
mod since_return;
mod tests_of_sides;
mod words;

pub use answer::{HistoryAnswer, KindOfSession, WeekOfHistory};
pub use since_return::{BackShare, ReturnStep};
pub use tests_of_sides::{SideResult, TestedDay};

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of histories.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(read::read);
}
