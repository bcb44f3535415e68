//! Change from one week to the next.
//!
//! With week load W and the load V of the seven days before: `W - V` in AU and
//! `100 (W / V - 1)` per cent. The AU stand beside the percentage, because a rise of 60 % from 100
//! AU is 60 AU.

use jiff::civil::Date;

use crate::exact::Fraction;
use crate::figure::{Bounds, Figure};
use crate::load::{Load, LoadChange};
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::window::{self, ACUTE_DAYS};

/// A change between two weeks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// In AU.
    pub au: Figure<LoadChange>,
    /// In per cent of the earlier week.
    pub pct: Figure<Fraction>,
}

impl Change {
    pub(crate) const fn none(reason: Reason) -> Change {
        Change {
            au: Figure::none(reason),
            pct: Figure::none(reason),
        }
    }
}

/// The change between two loads. Without load in the earlier week the percentage is missing with
/// [`Reason::NoLoadInPreviousWeek`], the AU are not.
///
/// ```
/// use plimsoll_domain::{Bounds, Load, Places, change::change};
/// let (week, before) = (Load::from_au(2810), Load::from_au(2355));
/// let change = change(Bounds::exact(week), Bounds::exact(before));
/// assert_eq!(change.au.point.unwrap().to_au(), 455.0);
/// assert_eq!(change.pct.point.unwrap().round(Places::Two).to_string(), "19.32");
/// ```
#[must_use]
pub fn change(week: Bounds<Load>, before: Bounds<Load>) -> Change {
    let pct = |week: Load, before: Load| {
        Fraction::new(100 * (week.half_au() - before.half_au()), before.half_au())
    };
    let pct = Figure {
        low: pct(week.low, before.high),
        point: pct(week.point, before.point),
        high: pct(week.high, before.low),
        reason: (before.low == Load::ZERO).then_some(Reason::NoLoadInPreviousWeek),
    };
    let au = Bounds {
        low: week.low.change_from(before.high),
        point: week.point.change_from(before.point),
        high: week.high.change_from(before.low),
    };
    Change {
        au: Figure::bounded(au),
        pct,
    }
}

/// The change of the seven days that end at a date from the seven before.
///
/// Missing before the 14th membership date with [`Reason::FewerThan14Days`]; for a Sunday that is
/// the rule of two full ISO weeks of membership.
#[must_use]
pub fn change_at(series: &DailySeries, date: Date) -> Change {
    match series.window(date, 2 * ACUTE_DAYS, Reason::FewerThan14Days) {
        Ok(days) => {
            let (before, week) = days.split_at(ACUTE_DAYS);
            change(window::total(week), window::total(before))
        }
        Err(reason) => Change::none(reason),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(low: u16, point: u16, high: u16) -> Bounds<Load> {
        Bounds { low, point, high }.map(Load::from_au)
    }

    #[test]
    fn bounds_pair_opposite_ends() {
        let change = change(bounds(100, 200, 300), bounds(100, 200, 400));
        assert_eq!(change.pct.low, Some(Fraction::whole(-75)));
        assert_eq!(change.pct.point, Some(Fraction::ZERO));
        assert_eq!(change.pct.high, Some(Fraction::whole(200)));
        assert_eq!(change.au.map(LoadChange::to_au).low, Some(-300.0));
        assert_eq!(change.au.map(LoadChange::to_au).high, Some(200.0));
    }

    #[test]
    fn from_nothing_there_is_no_percentage() {
        let change = change(bounds(60, 60, 60), bounds(0, 0, 0));
        assert_eq!(change.pct, Figure::none(Reason::NoLoadInPreviousWeek));
        assert_eq!(change.au.map(LoadChange::to_au).point, Some(60.0));
    }
}
