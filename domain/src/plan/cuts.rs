//! The smallest cuts of a plan that meet a limit on the ratio, week by week.
//!
//! With week loads W and the share c of [`RatioLimit::share`], a week k may keep at most `c (V(k-1) +
//! V(k-2) + V(k-3))` AU, where V is what the weeks before keep: cutting a week lowers the limits of
//! three more. Each limit only grows with the weeks before, so keeping as much as the limit allows in
//! each week, from the first on, keeps the most that is possible in every week at once, and no other
//! plan of cuts alone takes less from any week. The kept loads are exact fractions, seldom multiples of
//! half an AU.

use super::{PRIOR_WEEKS, priors};
use crate::exact::{Natural, WideFraction};
use crate::load::Load;
use crate::ratio_limit::RatioLimit;

/// The planned load of a week and the part of it that is not to be cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WeekLoad {
    planned: Load,
    protected: Load,
}

impl WeekLoad {
    /// A week; `None` where more is protected than planned.
    #[must_use]
    pub fn new(planned: Load, protected: Load) -> Option<WeekLoad> {
        (protected <= planned).then_some(WeekLoad { planned, protected })
    }

    /// The planned load.
    #[must_use]
    pub const fn planned(self) -> Load {
        self.planned
    }

    /// The part of it that is not to be cut, such as games and try-outs.
    #[must_use]
    pub const fn protected(self) -> Load {
        self.protected
    }
}

/// What a week keeps. All in AU.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptWeek {
    /// The most it may have after what the weeks before keep; `None` where the plan has no ratio to
    /// judge, and the week stays whole.
    pub limit: Option<WideFraction>,
    /// What it keeps.
    pub kept: WideFraction,
    /// What is cut from it.
    pub cut: WideFraction,
    /// How far its protected part alone is above the limit: then no cuts of the week can meet it, it
    /// keeps exactly that part, and the weeks after it go on from there.
    pub short_by: WideFraction,
}

/// The smallest cuts of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cuts {
    /// One for each week given.
    pub weeks: Vec<KeptWeek>,
    /// All cuts together, AU.
    pub total: WideFraction,
}

/// The smallest cuts that bring each week within the limit, or as near as its protected part allows.
///
/// `earlier` are the loads of the known weeks just before the plan, the last one latest. A week is
/// judged if three weeks before it are known and, as planned, reach the chronic floor: so a cut never
/// lifts the limit from a later week.
///
/// ```
/// use plimsoll_domain::plan::{WeekLoad, smallest_cuts};
/// use plimsoll_domain::{Decimal, Load, Places, RatioKind, RatioLimit};
/// let limit = RatioLimit::new(RatioKind::Coupled, Decimal::hundredths(150), Load::from_au(250));
/// let earlier = [950, 1000, 1400].map(Load::from_au);
/// let week = WeekLoad::new(Load::from_au(2400), Load::from_au(1560)).unwrap();
/// let cuts = smallest_cuts(limit.unwrap(), &earlier, &[week]);
/// assert_eq!(cuts.total.round(Places::Four).to_string(), "390");
/// ```
#[must_use]
pub fn smallest_cuts(limit: RatioLimit, earlier: &[Load], plan: &[WeekLoad]) -> Cuts {
    let mut running = Running::after(limit, earlier);
    let planned: Vec<Load> = plan.iter().map(|week| week.planned).collect();
    let judged = priors(earlier, &planned).into_iter();
    let judged = judged.map(|prior| prior.is_some_and(|prior| limit.judges_after(prior)));
    let weeks = plan.iter().zip(judged);
    Cuts {
        weeks: weeks
            .map(|(week, judged)| running.keep(*week, judged))
            .collect(),
        total: running.in_au(running.total.clone()),
    }
}

/// Where the cutting stands: counts of a part of half an AU that is made finer with each week, so that
/// every limit is a whole number of them.
struct Running {
    /// The share c is `up / down`.
    up: Natural,
    down: Natural,
    /// How many parts are half an AU.
    scale: Natural,
    /// What the last weeks keep.
    last: Vec<Natural>,
    /// What is cut so far.
    total: Natural,
}

impl Running {
    fn after(limit: RatioLimit, earlier: &[Load]) -> Running {
        let share = limit.share();
        let known = &earlier[earlier.len().saturating_sub(PRIOR_WEEKS)..];
        Running {
            up: share.numerator().unsigned_abs().into(),
            down: share.denominator().unsigned_abs().into(),
            scale: 1.into(),
            last: known.iter().map(|load| half_au(*load)).collect(),
            total: Natural::default(),
        }
    }

    fn keep(&mut self, week: WeekLoad, judged: bool) -> KeptWeek {
        let prior = self
            .last
            .iter()
            .fold(Natural::default(), |sum, kept| sum.plus(kept));
        // What was counted in the coarser part of the week before is the limit in the finer one.
        let limit = prior.times(&self.up);
        self.refine();
        let planned = half_au(week.planned).times(&self.scale);
        let protected = half_au(week.protected).times(&self.scale);
        let kept = if judged {
            limit.clone().max(protected.clone()).min(planned.clone())
        } else {
            planned.clone()
        };
        let cut = planned.less(&kept);
        self.total = self.total.plus(&cut);
        self.push(kept.clone());
        KeptWeek {
            short_by: self.in_au(if judged {
                protected.less(&limit)
            } else {
                Natural::default()
            }),
            limit: judged.then(|| self.in_au(limit)),
            kept: self.in_au(kept),
            cut: self.in_au(cut),
        }
    }

    /// Divides the part by the denominator of the share.
    fn refine(&mut self) {
        self.scale = self.scale.times(&self.down);
        self.total = self.total.times(&self.down);
        for kept in &mut self.last {
            *kept = kept.times(&self.down);
        }
    }

    fn push(&mut self, kept: Natural) {
        if self.last.len() == PRIOR_WEEKS {
            self.last.remove(0);
        }
        self.last.push(kept);
    }

    fn in_au(&self, parts: Natural) -> WideFraction {
        WideFraction::of_parts(parts, self.scale.times(&2.into()))
    }
}

fn half_au(load: Load) -> Natural {
    load.half_au().unsigned_abs().into()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::exact::{Decimal, Places};
    use crate::ratio::RatioKind;

    fn limit(hundredths: i32, floor: u16) -> RatioLimit {
        let limit = Decimal::hundredths(hundredths);
        RatioLimit::new(RatioKind::Coupled, limit, Load::from_au(floor)).unwrap()
    }

    fn week(planned: u16, protected: u16) -> WeekLoad {
        WeekLoad::new(Load::from_au(planned), Load::from_au(protected)).unwrap()
    }

    fn au(exact: &WideFraction) -> String {
        exact.round(Places::Four).to_string()
    }

    /// The limit is 0.6 x 3350 = 2010.
    #[test]
    fn s11_one_week_is_over_by_390() {
        let earlier = [950, 1000, 1400].map(Load::from_au);
        let cuts = smallest_cuts(limit(150, 250), &earlier, &[week(2400, 1560)]);
        let only = &cuts.weeks[0];
        assert_eq!(au(only.limit.as_ref().unwrap()), "2010");
        assert_eq!(
            (au(&only.kept), au(&only.cut)),
            ("2010".into(), "390".into())
        );
        assert!(only.short_by.is_zero());
    }

    #[test]
    fn s11_a_protected_part_above_the_limit_is_kept_and_short() {
        let earlier = [950, 1000, 1400].map(Load::from_au);
        let cuts = smallest_cuts(limit(150, 250), &earlier, &[week(2400, 2100)]);
        let only = &cuts.weeks[0];
        assert_eq!(
            (au(&only.kept), au(&only.cut)),
            ("2100".into(), "300".into())
        );
        assert_eq!(au(&only.short_by), "90");
    }

    #[test]
    fn a_week_is_judged_after_three_known_weeks_that_reach_the_floor() {
        let earlier = [250, 250].map(Load::from_au);
        let plan = [week(249, 0), week(900, 0), week(900, 0), week(2000, 0)];
        let cuts = smallest_cuts(limit(150, 250), &earlier, &plan);
        let judged: Vec<bool> = cuts.weeks.iter().map(|week| week.limit.is_some()).collect();
        // Before the second week are 749 AU, before the third 1399 as planned.
        assert_eq!(judged, [false, false, true, true]);
        assert_eq!(au(&cuts.weeks[1].kept), "900");
        assert_eq!(au(&cuts.weeks[2].kept), "839.4");
    }

    /// At T = 1.3 the share is 13/27, and 52 weeks of cuts lead to a denominator of 73 digits. The last
    /// week and the total were computed with the rational numbers of Python's standard library.
    #[test]
    fn cuts_of_a_whole_year_stay_exact() {
        let earlier = [900; 3].map(Load::from_au);
        let endless = WeekLoad::new(Load::MAX, Load::ZERO).unwrap();
        let cuts = smallest_cuts(limit(130, 250), &earlier, &[endless; 52]);
        assert_eq!(au(&cuts.weeks[0].kept), "1300");
        assert_eq!(au(&cuts.weeks[1].kept), "1492.5926");
        assert_eq!(au(&cuts.weeks[51].kept), "19789536.089");
        assert_eq!(au(&cuts.total), "25885561377.8072");
    }

    fn plans() -> impl Strategy<Value = Vec<(u16, u16)>> {
        let week = (0..4000_u16, 0..4000_u16).prop_map(|(a, b)| (a.max(b), a.min(b) / 2));
        prop::collection::vec(week, 1..8)
    }

    proptest! {
        /// Every plan within the limit takes some part of what it may still have, week by week: none
        /// keeps more in any week.
        #[test]
        fn no_other_plan_keeps_more_in_any_week(
            plan in plans(), parts in prop::collection::vec(0..=8_u8, 8),
        ) {
            let earlier = [1000, 900, 800];
            let weeks: Vec<WeekLoad> = plan.iter().map(|(planned, _)| week(*planned, 0)).collect();
            let cuts = smallest_cuts(limit(150, 0), &earlier.map(Load::from_au), &weeks);
            let mut other: Vec<f64> = earlier.map(f64::from).to_vec();
            for (((planned, _), part), kept) in plan.iter().zip(parts).zip(&cuts.weeks) {
                let most = 0.6 * other.iter().rev().take(3).sum::<f64>();
                other.push(most.min(f64::from(*planned)) * f64::from(part) / 8.0);
                let kept = kept.kept.round(Places::Four).to_f64();
                prop_assert!(other[other.len() - 1] <= kept + 1e-4, "{other:?} {kept}");
            }
        }

        #[test]
        fn what_is_kept_and_cut_is_the_plan_and_within_the_limit(plan in plans()) {
            let weeks: Vec<WeekLoad> = plan.iter().map(|(all, part)| week(*all, *part)).collect();
            let cuts = smallest_cuts(limit(150, 250), &[1000, 900, 800].map(Load::from_au), &weeks);
            for (given, found) in weeks.iter().zip(&cuts.weeks) {
                let (planned, protected) = (given.planned().into(), given.protected().into());
                prop_assert_eq!(&WideFraction::less(&planned, &found.kept), &found.cut);
                prop_assert!(found.kept >= protected && found.kept <= planned);
                let Some(limit) = &found.limit else {
                    prop_assert_eq!(&found.kept, &planned);
                    continue;
                };
                prop_assert_eq!(found.short_by.is_zero(), protected <= *limit);
                prop_assert_eq!(&found.kept, &planned.min(protected.max(limit.clone())));
            }
        }
    }
}
