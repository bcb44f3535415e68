//! A plan of many weeks against the club's limits, before it starts: where it is over, by how much, and
//! the smallest changes that would put it right.
//!
//! A plan is an intention. Nothing here is logged load, and what was done is to be judged again week by
//! week. A change that is listed is arithmetic for the coach who decides: it predicts nothing.

mod build_up;
mod calendar;
mod check;
mod cuts;
mod jumps;
mod moves;
mod needs;
mod sensitivity;
mod session;
mod shorten;

pub use build_up::{BuildUp, BuildUpBar, build_up, games_within};
pub use calendar::{Plan, PlanError, weeks_before};
pub use check::{DayOver, PlanCheck, WeekCheck, check_plan};
pub use cuts::{Cuts, KeptWeek, WeekLoad, smallest_cuts};
pub use jumps::{JumpBreach, JumpsJudgement, PlannedJumps};
pub use moves::{Move, best_move, moves};
pub use needs::{rolling_needs, week_need};
pub use sensitivity::Sensitivity;
pub use session::PlanSession;
pub use shorten::{CutBy, LeastChange, Shortenable, Shortened, least_change, short_by};

use crate::load::Load;

/// Weeks of the prior load.
const PRIOR_WEEKS: usize = 3;

/// The load of the three weeks before each week; `None` where they are not known.
fn priors(earlier: &[Load], loads: &[Load]) -> Vec<Option<Load>> {
    let all = [earlier, loads].concat();
    let before = (0..loads.len()).map(|at| all[..earlier.len() + at].last_chunk::<PRIOR_WEEKS>());
    before
        .map(|three| three.map(|three| three.iter().copied().sum()))
        .collect()
}
