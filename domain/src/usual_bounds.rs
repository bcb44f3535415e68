//! Where a week with unlogged sessions usually lies: a narrower range beside the hard bounds.
//!
//! Every unlogged session is taken at the athlete's own usual ratings of that kind
//! ([`UsualRange`](crate::UsualRange)). The range is usual and not guaranteed; it enters no point
//! value, no hard bound and no finding. Without eight ratings of every kind that is missing there
//! is none.

use crate::exact::Fraction;
use crate::figure::Bounds;
use crate::load::Load;
use crate::missing::OpenSession;
use crate::ratio::{RatioKind, ratio};
use crate::week_figures::WeekFigures;

/// A usual range of a week and of the ratio at its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UsualBounds {
    /// Load of the week.
    pub week_load: (Load, Load),
    /// The ratio of this kind, where the week has one.
    pub ratio: Option<(RatioKind, Fraction, Fraction)>,
}

/// The usual range of a week of which sessions are open, in it or in the 21 days before.
#[must_use]
pub fn usual_bounds(
    week: &WeekFigures,
    kind: RatioKind,
    open: &[OpenSession],
) -> Option<UsualBounds> {
    let monday = week.week.monday();
    let (before, of_week): (Vec<&OpenSession>, Vec<&OpenSession>) =
        open.iter().partition(|one| one.date < monday);
    if open.is_empty() {
        return None;
    }
    let load = narrowed(week.load, &of_week)?;
    let ratio = week.ratio(kind).point.and_then(|_| {
        let prior = Bounds {
            low: week.prior_21d.low?,
            point: week.prior_21d.point?,
            high: week.prior_21d.high?,
        };
        let ratio = ratio(kind, load, narrowed(prior, &before)?, Load::ZERO);
        Some((kind, ratio.low?, ratio.high?))
    });
    Some(UsualBounds {
        week_load: (load.low, load.high),
        ratio,
    })
}

/// Bounds with the open sessions at their usual range instead of the hard one; `None` where one of
/// them has no usual range.
fn narrowed(hard: Bounds<Load>, open: &[&OpenSession]) -> Option<Bounds<Load>> {
    let mut usual = (Load::ZERO, Load::ZERO);
    for one in open {
        let (low, high) = one.usual?.loads(one.minutes);
        usual = (usual.0 + low, usual.1 + high);
    }
    let most: Load = open.iter().map(|one| one.at_most()).sum();
    let low = hard.low + usual.0;
    let high = hard.high.less(most).max(hard.point) + usual.1;
    Some(Bounds {
        low,
        point: low,
        high,
    })
}
