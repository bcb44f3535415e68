//! The dose of neuromuscular warm-up of an athlete and of a squad.

mod answer;
mod athlete;
mod squad;

pub use answer::{AgainstDose, WarmUpDose};

use crate::routes::Routes;

/// The routes of doses.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(athlete::read).service(squad::read);
}
