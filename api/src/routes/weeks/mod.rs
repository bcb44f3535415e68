//! Weeks: of one athlete, and the weekly list of a squad.

mod acknowledge;
mod acknowledged;
mod ahead;
mod athlete;
mod closed;
pub(crate) mod entry;
mod look_ahead;
mod squad;
mod summary;
mod usual_week;
mod week;

pub(crate) use acknowledged::Acknowledged;
pub(crate) use ahead::AheadEntry;
pub(crate) use closed::CorrectionNote;
pub(crate) use entry::{AuRange, MissingSession, UsualRange, WeeklyEntry};
pub(crate) use squad::{MostlyUnlogged, WeeklyListAnswer, answer_of};
pub(crate) use usual_week::UsualWeek;

use crate::routes::Routes;

/// The routes of weeks.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(athlete::list)
        .service(squad::read)
        .service(summary::read)
        .service(look_ahead::read)
        .service(acknowledge::acknowledge);
}
