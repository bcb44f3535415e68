//! The smallest changes of a plan that bring it within the limit on the ratio.

mod cuts;
mod moved;
mod others;
mod within_week;

pub use cuts::WeekCut;
pub use moved::{FoundMove, MoveAsked};
pub use others::{BuildUpAnswer, BuildUpAsked, FewerGames, Others, OthersAsked};
pub use within_week::{Change, Shortening, WithinWeek};

use jiff::civil::Date;
use plimsoll_domain::plan::{Cuts, smallest_cuts, weeks_before};
use plimsoll_domain::{IsoWeek, Load, RatioLimit};

use super::ReadyPlan;
use super::check::JudgedWeek;
use super::history::PlanAthlete;
use crate::error::{FieldProblem, Problem};

/// What is wanted beside the cuts of each week.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// The week within which sessions are to be shortened, and the first date of it that is still to come.
    pub week: Option<(IsoWeek, Date)>,
    /// Other ways out.
    pub others: OthersAsked,
}

/// The changes found for one athlete.
#[derive(Debug)]
pub struct Changes {
    /// What each week keeps.
    pub weeks: Vec<WeekCut>,
    /// All cuts together.
    pub cuts: Cuts,
    /// Which sessions of the week asked for are shortened.
    pub within_week: Option<WithinWeek>,
    /// Other ways out, those that were asked for.
    pub others: Others,
}

/// What the changes of a plan are worked out from.
struct Ground<'a> {
    ready: &'a ReadyPlan,
    athlete: &'a PlanAthlete,
    limit: RatioLimit,
    /// The loads of the weeks before the plan, the latest last.
    before: Vec<Load>,
    cuts: &'a Cuts,
    /// The weeks as planned.
    judged: Vec<JudgedWeek>,
}

impl ReadyPlan {
    /// The smallest changes of the plan for one athlete.
    ///
    /// # Errors
    /// 422 where no ratio is limited: then there is nothing to meet.
    pub fn changes(&self, athlete: &PlanAthlete, wanted: &Wanted) -> Result<Changes, Problem> {
        let limit = RatioLimit::of(&self.by.policy).ok_or_else(no_limit)?;
        let plan = &self.plan.plan;
        let before = athlete.days.as_ref();
        let before = before
            .map(|days| weeks_before(days, plan.first()))
            .transpose();
        let before = before.map_err(|reason| Problem::internal(&reason.code()))?;
        let before = before.unwrap_or_default();
        let cuts = smallest_cuts(limit, &before, &plan.week_loads());
        let ground = Ground {
            ready: self,
            athlete,
            limit,
            before,
            cuts: &cuts,
            judged: self.check(athlete)?,
        };
        let within_week = wanted
            .week
            .map(|week| ground.within_week(week))
            .transpose()?;
        Ok(Changes {
            weeks: ground.week_cuts(),
            within_week,
            others: ground.others(&wanted.others),
            cuts,
        })
    }
}

fn no_limit() -> Problem {
    let fault = FieldProblem::missing("/limit", "a limit on the ratio");
    let detail = "The club's policy limits no ratio: send the limit that is to be met.";
    Problem::field(fault.detail(detail))
}
