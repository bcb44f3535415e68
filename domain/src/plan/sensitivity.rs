//! What becomes of a week of a plan if it is rated harder or easier than meant.
//!
//! Only the planned sessions are shifted, by one point of session RPE and within 0 to 10; the history
//! stays. A plan that is over the limit even in the best case is not saved by an easy week, and one that
//! is over only in the worst case hangs on a point of effort. Common practice, no source.

use jiff::civil::Date;

use crate::judge::Outcome;
use crate::ratio::sums_at;
use crate::ratio_limit::RatioLimit;
use crate::series::DailySeries;

/// What the limit on the ratio says of a week under four shifts of the planned ratings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sensitivity {
    /// As planned.
    pub planned: Outcome,
    /// All ratings one point higher.
    pub harder: Outcome,
    /// All ratings one point lower.
    pub easier: Outcome,
    /// The week one point higher and the planned weeks before it one lower.
    pub worst: Outcome,
    /// The week one point lower and the planned weeks before it one higher.
    pub best: Outcome,
}

impl Sensitivity {
    /// Over the limit even in the best case.
    #[must_use]
    pub const fn is_robust(&self) -> bool {
        matches!(self.best, Outcome::Raised(_))
    }

    /// Over the limit in the worst case and in no other.
    #[must_use]
    pub fn is_fragile(&self) -> bool {
        let others = [self.planned, self.harder, self.easier, self.best];
        let raised = |outcome: &Outcome| matches!(outcome, Outcome::Raised(_));
        raised(&self.worst) && !others.iter().any(raised)
    }
}

/// A history followed by a plan, at three efforts.
pub(super) struct Efforts {
    pub planned: DailySeries,
    pub harder: DailySeries,
    pub easier: DailySeries,
}

impl Efforts {
    /// The week that ends on a Sunday.
    pub fn sensitivity(&self, limit: RatioLimit, sunday: Date) -> Sensitivity {
        let of = |week, before| mixed(limit, week, before, sunday);
        Sensitivity {
            planned: of(&self.planned, &self.planned),
            harder: of(&self.harder, &self.harder),
            easier: of(&self.easier, &self.easier),
            worst: of(&self.harder, &self.easier),
            best: of(&self.easier, &self.harder),
        }
    }
}

/// What a limit says at a date, with the seven days of one series and the 21 before of another.
fn mixed(limit: RatioLimit, week: &DailySeries, before: &DailySeries, date: Date) -> Outcome {
    match (sums_at(week, date), sums_at(before, date)) {
        (Ok((acute, _)), Ok((_, prior))) => limit.judge(acute, prior),
        (Err(reason), _) | (_, Err(reason)) => Outcome::NotComputable(reason),
    }
}

/// What a limit says at any date of a series.
pub(super) fn at(limit: RatioLimit, series: &DailySeries, date: Date) -> Outcome {
    mixed(limit, series, series, date)
}
