//! Cuts alone, week by week.

use plimsoll_domain::IsoWeek;
use plimsoll_domain::plan::{KeptWeek, WeekLoad};

use super::Ground;
use crate::services::plans::check::JudgedWeek;

/// What one week keeps.
#[derive(Debug, Clone)]
pub struct WeekCut {
    /// The week.
    pub week: IsoWeek,
    /// What is planned and what of it is fixed.
    pub planned: WeekLoad,
    /// What it keeps.
    pub kept: KeptWeek,
    /// Whether it was within the limit as planned and is cut because weeks before it are.
    pub follows_cuts: bool,
}

impl Ground<'_> {
    /// Each week with what it keeps.
    pub fn week_cuts(&self) -> Vec<WeekCut> {
        let planned = self.ready.plan.plan.week_loads().into_iter();
        let weeks = planned.zip(&self.cuts.weeks).zip(&self.judged);
        let of = |((planned, kept), judged): ((WeekLoad, &KeptWeek), &JudgedWeek)| WeekCut {
            week: judged.week.figures.week,
            planned,
            kept: kept.clone(),
            follows_cuts: !kept.cut.is_zero() && !judged.is_over(),
        };
        weeks.map(of).collect()
    }
}
