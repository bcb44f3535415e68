//! What a joiner says of the time before: a range, always labelled as declared.
//!
//! From `m` to `M` minutes a week at ratings from `r` to `R` a usual week came to `m r .. M R` AU.
//! As long as fewer than 28 days are known, a week can be set against it: with `P` three such
//! weeks, the ratio and the load that just meets a limit are ranges too. None of it is logged, and
//! none of it enters a figure. Common practice, no source.

use crate::exact::{Decimal, Fraction};
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::ratio::{self, RatioKind};
use crate::reason::Reason;
use crate::units::Rpe;

/// Minutes and ratings of a usual week before joining.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeclaredHistory {
    minutes: (u16, u16),
    rpe: (Rpe, Rpe),
}

impl DeclaredHistory {
    /// Most minutes of a week: 50 hours.
    pub const MAX_MINUTES: u16 = 3000;

    /// From the least and the most of each; `None` where the least is above the most, or the most
    /// minutes above [`DeclaredHistory::MAX_MINUTES`].
    ///
    /// ```
    /// use plimsoll_domain::{DeclaredHistory, Rpe};
    /// let rpe = |rpe| Rpe::from_f64(rpe).unwrap();
    /// let declared = DeclaredHistory::new((240, 360), (rpe(4.0), rpe(6.0))).unwrap();
    /// let (low, high) = declared.week();
    /// assert_eq!((low.to_au(), high.to_au()), (960.0, 2160.0));
    /// ```
    #[must_use]
    pub fn new(minutes: (u16, u16), rpe: (Rpe, Rpe)) -> Option<DeclaredHistory> {
        let fits = minutes.0 <= minutes.1 && minutes.1 <= Self::MAX_MINUTES && rpe.0 <= rpe.1;
        fits.then_some(DeclaredHistory { minutes, rpe })
    }

    /// The load of a usual week, at least and at most.
    #[must_use]
    pub fn week(&self) -> (Load, Load) {
        let load = |minutes: u16, rpe: Rpe| {
            let half_au = i64::from(minutes) * i64::from(rpe.half_steps());
            Load::from_half_au(half_au).unwrap_or(Load::MAX)
        };
        (
            load(self.minutes.0, self.rpe.0),
            load(self.minutes.1, self.rpe.1),
        )
    }

    /// The ratio a week would have after three usual weeks: least and most.
    ///
    /// # Errors
    /// The reasons of [`ratio::ratio`].
    pub fn ratio(
        &self,
        kind: RatioKind,
        week: Load,
        chronic_floor: Load,
    ) -> Result<(Fraction, Fraction), Reason> {
        let (low, high) = self.prior();
        let prior = Bounds {
            low,
            point: low,
            high,
        };
        let Figure {
            low, high, reason, ..
        } = ratio::ratio(kind, Bounds::exact(week), prior, chronic_floor);
        low.zip(high).ok_or(reason.unwrap_or(Reason::NotRead))
    }

    /// The load of a week that would just meet a limit on the ratio after three usual weeks: least
    /// and most, AU.
    #[must_use]
    pub fn limit_au(&self, kind: RatioKind, limit: Decimal) -> Option<(Fraction, Fraction)> {
        let (low, high) = self.prior();
        let of = |prior| ratio::limit_au(kind, limit, prior);
        of(low).zip(of(high))
    }

    /// Three usual weeks.
    fn prior(&self) -> (Load, Load) {
        let (low, high) = self.week();
        (low + low + low, high + high + high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    fn rpe(rpe: f64) -> Rpe {
        Rpe::from_f64(rpe).unwrap()
    }

    #[test]
    fn s15_ranges_from_a_declaration_alone() {
        let declared = DeclaredHistory::new((240, 360), (rpe(4.0), rpe(6.0))).unwrap();
        let floor = Load::from_au(250);
        let week = Load::from_au(1500);
        let (low, high) = declared.ratio(RatioKind::Coupled, week, floor).unwrap();
        let four = |value: Fraction| value.round(Places::Four).to_string();
        assert_eq!((four(low), four(high)), ("0.7519".into(), "1.3699".into()));
        let limit = declared.limit_au(RatioKind::Coupled, Decimal::hundredths(150));
        let (low, high) = limit.unwrap();
        assert_eq!((four(low), four(high)), ("1728".into(), "3888".into()));
    }

    #[test]
    fn ranges_run_from_the_least_to_the_most() {
        assert!(DeclaredHistory::new((360, 240), (rpe(4.0), rpe(6.0))).is_none());
        assert!(DeclaredHistory::new((240, 360), (rpe(6.0), rpe(4.0))).is_none());
        assert!(DeclaredHistory::new((240, 3001), (rpe(4.0), rpe(6.0))).is_none());
        let nothing = DeclaredHistory::new((0, 0), (rpe(0.0), rpe(0.0))).unwrap();
        let ratio = nothing.ratio(RatioKind::Coupled, Load::ZERO, Load::from_au(250));
        assert_eq!(ratio, Err(Reason::NoLoadInWindow));
    }
}
