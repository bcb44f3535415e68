//! How much of the load before an absence is back.
//!
//! `100 x (load of the last 28 days / 4) / (mean week before the absence)`, in per cent; both in AU a week. The mean before is taken as
//! logged, over the weeks the ramp rests on; the days since have the bounds that unlogged sessions leave open. The same of a part of the
//! load, such as games: the whole may be back while a part is not. Common practice, no source. It describes logged load and clears nobody.

use crate::exact::Fraction;
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::reason::Reason;

/// Weeks of the last 28 days.
const WEEKS_NOW: i64 = 4;

/// A load, or a part of it, before an absence and now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReturnShare {
    /// Mean week before the absence, AU.
    pub before_au: Fraction,
    /// Mean week of the last 28 days, AU.
    pub now_au: Bounds<Fraction>,
    /// The one in per cent of the other; missing with [`Reason::NoLoad`] where there was none before.
    pub pct: Figure<Fraction>,
}

/// The share of `now`, the load of the last 28 days, in `before`, the load of so many weeks before the absence; `None` of no weeks.
///
/// ```
/// use plimsoll_domain::{Bounds, Load, Places, return_share};
/// let now = Bounds::exact(Load::from_au(6150));
/// let share = return_share(Load::from_au(9000), 4, now).unwrap();
/// assert_eq!(share.pct.point.unwrap().round(Places::Two).to_string(), "68.33");
/// ```
#[must_use]
pub fn return_share(before: Load, weeks: u8, now: Bounds<Load>) -> Option<ReturnShare> {
    let weeks = i64::from(weeks);
    let pct = |now: Load| Fraction::new(100 * now.half_au() * weeks, WEEKS_NOW * before.half_au());
    Some(ReturnShare {
        before_au: Fraction::new(before.half_au(), 2 * weeks)?,
        now_au: now.map(|now| Fraction::over::<8>(now.half_au())),
        pct: match before {
            Load::ZERO => Figure::none(Reason::NoLoad),
            _ => Figure {
                low: pct(now.low),
                point: pct(now.point),
                high: pct(now.high),
                reason: None,
            },
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    #[test]
    fn a_part_that_was_never_there_has_no_share() {
        let share = return_share(Load::ZERO, 4, Bounds::exact(Load::from_au(300))).unwrap();
        assert_eq!(share.pct, Figure::none(Reason::NoLoad));
        assert_eq!(share.now_au.point, Fraction::whole(75));
        assert_eq!(return_share(Load::ZERO, 0, Bounds::default()), None);
    }

    #[test]
    fn unlogged_sessions_leave_it_open() {
        let now = Bounds {
            low: Load::from_au(5000),
            point: Load::from_au(5000),
            high: Load::from_au(5900),
        };
        let share = return_share(Load::from_au(6600), 3, now).unwrap();
        let printed = |value: Option<Fraction>| value.unwrap().round(Places::Two).to_string();
        assert_eq!(printed(share.pct.point), "56.82");
        assert_eq!(printed(share.pct.high), "67.05");
        assert_eq!(share.before_au, Fraction::whole(2200));
    }
}
