//! Plans before they are done: judged, and changed as little as possible. Nothing of it is stored.

mod answer;
mod check;
mod limit;
mod numbers;
mod other_ways;
mod proposal;
mod propose;
mod sensitivity;
mod week;
mod within_week;

pub use answer::PlanCheckAnswer;
pub use week::{PlanLandings, PlanWarmUp, PlanWeek};

use crate::routes::Routes;

/// The routes of questions about plans.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(check::check).service(propose::propose);
}
