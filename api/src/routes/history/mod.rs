//! An athlete's history, for clinicians.

mod answer;
mod clinical;
mod not_known;
mod read;
mod signed_off;
mod since_return;
mod tests_of_sides;
mod weeks;
mod words;

pub use answer::{Away, FlagOfHistory, HistoryAnswer, SaidOfPain};
pub use clinical::{CurrentRestriction, RecordedDecision};
pub use not_known::NotIncluded;
pub use signed_off::SignedOff;
pub use since_return::{BackShare, BeforeAbsence, CountedWeek, ReturnStep};
pub use tests_of_sides::{HurtSide, SideResult, TestedDay};
pub use weeks::{KindOfSession, WeekOfHistory};

use crate::routes::Routes;

/// The routes of histories.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(read::read);
}
