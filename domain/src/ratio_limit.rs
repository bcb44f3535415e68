//! A club's limit on the ratio, and the load that just meets it.
//!
//! With a limit T and the load P of the 21 days before, the seven days may have `c P` AU, where `c = T
//! / (4 - T)` for the coupled ratio and `T / 3` for the uncoupled one. With T = 1.5 coupled, c = 0.6.
//! It follows from the definition of the ratio (`ratio.rs`); the limit is the club's choice, disputed
//! and not a medical one.

use crate::exact::{Decimal, Fraction};
use crate::figure::Bounds;
use crate::judge::Outcome;
use crate::load::Load;
use crate::policy::Policy;
use crate::ratio::{RatioKind, limit_share, ratio};
use crate::rule::RuleCode;

/// A limit on the ratio that some load can meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RatioLimit {
    kind: RatioKind,
    limit: Decimal,
    share: Fraction,
    chronic_floor: Load,
}

impl RatioLimit {
    /// A limit, and the mean weekly load of the three prior weeks below which no ratio is judged.
    /// `None` for a limit of zero or less, or a coupled one of 4 or more, which no load can meet.
    ///
    /// ```
    /// use plimsoll_domain::{Decimal, Load, RatioKind, RatioLimit};
    /// let limit = RatioLimit::new(RatioKind::Coupled, Decimal::hundredths(150), Load::from_au(250));
    /// let most = limit.unwrap().load_at(Load::from_au(6140));
    /// assert_eq!(most.to_f64(), 3684.0);
    /// ```
    #[must_use]
    pub fn new(kind: RatioKind, limit: Decimal, chronic_floor: Load) -> Option<RatioLimit> {
        let share = limit_share(kind, limit).filter(|share| *share > Fraction::ZERO)?;
        Some(RatioLimit {
            kind,
            limit,
            share,
            chronic_floor,
        })
    }

    /// The limit of a policy that judges the ratio.
    #[must_use]
    pub fn of(policy: &Policy) -> Option<RatioLimit> {
        let rule = policy.rule(RuleCode::WeekEndRatio)?;
        let kind = rule.ratio_kind.filter(|_| rule.enabled)?;
        RatioLimit::new(kind, rule.limit, policy.chronic_floor)
    }

    /// Which ratio is limited.
    #[must_use]
    pub const fn kind(self) -> RatioKind {
        self.kind
    }

    /// The limit as the club has it.
    #[must_use]
    pub const fn limit(self) -> Decimal {
        self.limit
    }

    /// The share of the prior load that just meets the limit, in lowest terms; no unit.
    #[must_use]
    pub const fn share(self) -> Fraction {
        self.share
    }

    /// The load of seven days that just meets the limit, AU.
    #[must_use]
    pub const fn load_at(self, prior: Load) -> Fraction {
        self.share.of(prior)
    }

    /// How far seven days are above the limit, AU; negative when below.
    #[must_use]
    pub const fn over_by(self, acute: Load, prior: Load) -> Fraction {
        Fraction::over::<2>(acute.half_au()).less(self.load_at(prior))
    }

    /// What the limit says of seven days after the 21 before: over is strictly greater, certain where
    /// it holds at the end of the bounds least likely to raise it. Not computable where there is no
    /// ratio (`ratio.rs`).
    #[must_use]
    pub fn judge(self, acute: Bounds<Load>, prior: Bounds<Load>) -> Outcome {
        let ratio = ratio(self.kind, acute, prior, self.chronic_floor);
        if let (None, Some(reason)) = (ratio.point, ratio.reason) {
            return Outcome::NotComputable(reason);
        }
        let over = |acute: Load, prior: Load| self.over_by(acute, prior) > Fraction::ZERO;
        Outcome::of(over(acute.low, prior.high), over(acute.high, prior.low))
    }

    /// The mean weekly load of the three prior weeks below which no ratio is judged.
    #[must_use]
    pub const fn chronic_floor(self) -> Load {
        self.chronic_floor
    }

    /// Whether a ratio is judged after this prior load.
    #[must_use]
    pub const fn judges_after(self, prior: Load) -> bool {
        prior.half_au() >= 3 * self.chronic_floor.half_au()
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::judge::Certainty;
    use crate::policy::PolicyDraft;
    use crate::reason::Reason;

    #[test]
    fn is_what_the_policy_judges() {
        let draft = PolicyDraft::example(date(2026, 8, 3), "Policy owner");
        let limit = RatioLimit::of(&draft.clone().check().unwrap()).unwrap();
        assert_eq!(
            (limit.kind(), limit.limit()),
            (RatioKind::Coupled, Decimal::hundredths(150))
        );
        assert_eq!(limit.share(), Fraction::new(3, 5).unwrap());
        assert_eq!(limit.chronic_floor(), Load::from_au(250));
        let mut off = draft;
        off.rules[0].enabled = false;
        assert_eq!(RatioLimit::of(&off.check().unwrap()), None);
    }

    #[test]
    fn some_load_can_meet_it() {
        let of = |kind, limit| RatioLimit::new(kind, Decimal::hundredths(limit), Load::ZERO);
        assert!(of(RatioKind::Coupled, 399).is_some());
        assert!(of(RatioKind::Coupled, 400).is_none());
        assert!(of(RatioKind::Uncoupled, 400).is_some());
        assert!(of(RatioKind::Uncoupled, 0).is_none());
    }

    /// A = 3684 after P = 6140 just meets 1.5, and half an AU more is over.
    #[test]
    fn over_is_strict_and_exact() {
        let limit = RatioLimit::new(RatioKind::Coupled, Decimal::hundredths(150), Load::ZERO);
        let over = |half_au| {
            let acute = Load::from_half_au(half_au).unwrap();
            limit.unwrap().over_by(acute, Load::from_au(6140))
        };
        assert_eq!(over(7368), Fraction::ZERO);
        assert_eq!(over(7369), Fraction::new(1, 2).unwrap());
        let judged = RatioLimit::new(
            RatioKind::Coupled,
            Decimal::hundredths(150),
            Load::from_au(250),
        );
        assert!(judged.unwrap().judges_after(Load::from_au(750)));
        assert!(!judged.unwrap().judges_after(Load::from_au(749)));
    }

    /// 1800 just meets the limit after 3000, 1860 after 3100.
    #[test]
    fn judges_both_ends() {
        let limit = RatioLimit::new(
            RatioKind::Coupled,
            Decimal::hundredths(150),
            Load::from_au(250),
        )
        .unwrap();
        let judged = |acute: [u16; 2], prior: [u16; 2]| {
            let [acute, prior] = [acute, prior].map(|[low, high]| Bounds {
                low: Load::from_au(low),
                point: Load::from_au(low),
                high: Load::from_au(high),
            });
            limit.judge(acute, prior)
        };
        assert_eq!(judged([1800, 1800], [3000, 3000]), Outcome::NotRaised);
        assert_eq!(
            judged([1860, 1900], [3000, 3100]),
            Outcome::Raised(Certainty::Possible)
        );
        assert_eq!(
            judged([1861, 1861], [3000, 3100]),
            Outcome::Raised(Certainty::Certain)
        );
        assert_eq!(
            judged([1861, 1861], [749, 3100]),
            Outcome::NotComputable(Reason::BelowChronicFloor)
        );
    }
}
