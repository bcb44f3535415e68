//! Judging a week by a policy: strict, exact, with certainty.
//!
//! "Over the limit" means strictly greater, tested on exact values by cross-multiplication. A rule
//! is certain where it holds at the end of the bounds least likely to raise it, possible where it
//! holds at the other end only.

use crate::coded::coded_enum;
use crate::exact::{Decimal, Fraction, Root};
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::own_highest::OwnHighest;
use crate::policy::Policy;
use crate::ramp::Returning;
use crate::ratio::{self, RatioKind};
use crate::reason::Reason;
use crate::rule::{Rule, RuleCode};
use crate::series::DailySeries;
use crate::week::IsoWeek;
use crate::week_figures::{WeekFigures, week_figures_of};

coded_enum! {
    /// How sure a raised rule is.
    Certainty {
        /// It holds whatever the unlogged sessions were.
        Certain = "certain",
        /// It holds for some of what they may have been.
        Possible = "possible",
    }
}

/// What a rule says of a week.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Over the limit.
    Raised(Certainty),
    /// Not over it.
    NotRaised,
    /// The figure it needs does not exist.
    NotComputable(Reason),
}

impl Outcome {
    /// Of whether a rule holds at the end least likely to raise it, and at the other.
    pub(crate) fn of(holds_at_least: bool, holds_at_most: bool) -> Outcome {
        match (holds_at_least, holds_at_most) {
            (true, _) => Outcome::Raised(Certainty::Certain),
            (false, true) => Outcome::Raised(Certainty::Possible),
            (false, false) => Outcome::NotRaised,
        }
    }
}

/// One rule judged for one week, with the numbers that decided it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judgement {
    /// The rule.
    pub rule: RuleCode,
    /// Its limit as the policy has it.
    pub limit: Decimal,
    /// What it says.
    pub outcome: Outcome,
    /// The load judged: the ISO week's, or the ramp week's.
    pub load: Bounds<Load>,
    /// The load that would just meet the limit, AU; low belongs to the low end of earlier loads.
    pub limit_au: Option<Bounds<Fraction>>,
    /// How far the week is above that, AU; negative when below.
    pub over_by_au: Option<Bounds<Fraction>>,
    /// The ratio judged, by its kind.
    pub ratio: Option<(RatioKind, Figure<Fraction>)>,
    /// The monotony judged, sample divisor; without a point and with [`Reason::NoVariation`] for
    /// seven equal days, which count as over any limit.
    pub monotony: Option<Figure<Root>>,
    /// The highest earlier week it was compared with.
    pub own_highest: Option<OwnHighest>,
    /// The ramp week that was judged, whose days may be others than those of the ISO week.
    pub returning: Option<Returning>,
}

impl Judgement {
    /// How sure it is that the rule is raised; `None` if it is not.
    #[must_use]
    pub const fn certainty(&self) -> Option<Certainty> {
        match self.outcome {
            Outcome::Raised(certainty) => Some(certainty),
            Outcome::NotRaised | Outcome::NotComputable(_) => None,
        }
    }

    fn of(rule: &Rule, load: Bounds<Load>, outcome: Outcome) -> Judgement {
        Judgement {
            rule: rule.code,
            limit: rule.limit,
            outcome,
            load,
            limit_au: None,
            over_by_au: None,
            ratio: None,
            monotony: None,
            own_highest: None,
            returning: None,
        }
    }
}

/// Judges a week of a series by every enabled rule, in the order of the policy.
///
/// # Errors
/// As [`week_figures_of`]: the week has no figures at all.
pub fn judge(
    policy: &Policy,
    series: &DailySeries,
    week: IsoWeek,
) -> Result<Vec<Judgement>, Reason> {
    let figures = week_figures_of(series, &policy.figure_settings(), week)?;
    Ok(judge_figures(policy, &figures))
}

/// Judges the figures of a week, computed with [`Policy::figure_settings`], by every enabled rule.
#[must_use]
pub fn judge_figures(policy: &Policy, week: &WeekFigures) -> Vec<Judgement> {
    let enabled = policy.rules.iter().filter(|rule| rule.enabled);
    enabled
        .filter_map(|rule| match rule.code {
            RuleCode::WeekEndRatio => Some(week_end_ratio(rule, week)),
            RuleCode::OwnHighestWeek => Some(own_highest_week(rule, week)),
            RuleCode::WeekMonotony => Some(week_monotony(rule, week)),
            RuleCode::ReturnCeiling => return_ceiling(rule, week),
            _ => None,
        })
        .collect()
}

/// Raised where the ratio is above T, that is where A is above the load that just meets it:
/// `T P / (4 - T)` coupled, `T P / 3` uncoupled.
fn week_end_ratio(rule: &Rule, week: &WeekFigures) -> Judgement {
    let kind = rule.ratio_kind.unwrap_or(RatioKind::Coupled);
    let ratio = week.ratio(kind);
    let limits = ratio
        .point
        .and_then(|_| ratio_limits(rule.limit, kind, week));
    let judgement = match limits {
        Some(limits) => against_load(rule, week.load, limits),
        None => {
            let reason = ratio.reason.unwrap_or(Reason::FewerThan28Days);
            Judgement::of(rule, week.load, Outcome::NotComputable(reason))
        }
    };
    Judgement {
        ratio: Some((kind, ratio)),
        ..judgement
    }
}

fn ratio_limits(limit: Decimal, kind: RatioKind, week: &WeekFigures) -> Option<Bounds<Fraction>> {
    let prior = week.prior_21d;
    let of = |prior: Load| ratio::limit_au(kind, limit, prior);
    Some(Bounds {
        low: of(prior.low?)?,
        point: of(prior.point?)?,
        high: of(prior.high?)?,
    })
}

/// Raised where the week is above the limit times the athlete's own highest recent week. Of earlier
/// weeks without any load there is no highest to compare with.
fn own_highest_week(rule: &Rule, week: &WeekFigures) -> Judgement {
    match week.own_highest {
        Ok(highest) if highest.load == Load::ZERO => {
            Judgement::of(rule, week.load, Outcome::NotComputable(Reason::NoLoad))
        }
        Ok(highest) => {
            let limit = rule.limit.to_fraction().of(highest.load);
            let judgement = against_load(rule, week.load, Bounds::exact(limit));
            Judgement {
                own_highest: Some(highest),
                ..judgement
            }
        }
        Err(reason) => Judgement::of(rule, week.load, Outcome::NotComputable(reason)),
    }
}

/// Raised where the ramp week that ended in the ISO week is above its ceiling. Without an absence to
/// follow there is nothing to judge.
fn return_ceiling(rule: &Rule, week: &WeekFigures) -> Option<Judgement> {
    Some(match week.returning? {
        Ok(returning) => Judgement {
            returning: Some(returning),
            ..against_load(rule, returning.week.load, returning.week.ceiling_au)
        },
        Err(reason) => Judgement::of(rule, week.load, Outcome::NotComputable(reason)),
    })
}

fn against_load(rule: &Rule, load: Bounds<Load>, limit: Bounds<Fraction>) -> Judgement {
    let over = |load: Load, limit| Fraction::over::<2>(load.half_au()).less(limit);
    let over_by = Bounds {
        low: over(load.low, limit.high),
        point: over(load.point, limit.point),
        high: over(load.high, limit.low),
    };
    let outcome = Outcome::of(over_by.low > Fraction::ZERO, over_by.high > Fraction::ZERO);
    Judgement {
        limit_au: Some(limit),
        over_by_au: Some(over_by),
        ..Judgement::of(rule, load, outcome)
    }
}

/// Raised where monotony is above the limit. Seven equal positive days have no monotony and are
/// the most monotonous week there is, so they count as over any limit; seven zeros never do.
fn week_monotony(rule: &Rule, week: &WeekFigures) -> Judgement {
    let monotony = week.monotony.sample;
    let limit = rule.limit.to_root();
    let above = |figure: Option<Root>| figure.is_some_and(|figure| figure > limit);
    let equal = monotony.reason == Some(Reason::NoVariation);
    let unbounded = monotony.high.is_none() && monotony.low.is_some();
    let outcome = match monotony.reason {
        Some(reason @ Reason::FewerThan7Days) => Outcome::NotComputable(reason),
        _ if monotony.low.is_none() => Outcome::of(equal, equal),
        _ => Outcome::of(above(monotony.low), unbounded || above(monotony.high)),
    };
    Judgement {
        monotony: Some(monotony),
        ..Judgement::of(rule, week.load, outcome)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::day::DayTotal;
    use crate::day_state::DayFacts;
    use crate::policy::PolicyDraft;

    fn policy(change: impl FnOnce(&mut PolicyDraft)) -> Policy {
        let mut draft = PolicyDraft::example(date(2026, 1, 1), "Policy owner");
        change(&mut draft);
        draft.check().unwrap()
    }

    fn week_of(loads: [(u16, u16); 7]) -> Vec<DayTotal> {
        let day = |(low, high): (u16, u16)| {
            let (sessions, unlogged) = (u32::from(low > 0), u32::from(low != high));
            let expected = sessions + unlogged;
            let facts = DayFacts {
                sessions,
                expected,
                unlogged,
                ..DayFacts::default()
            };
            let (low, high) = (Load::from_au(low), Load::from_au(high));
            DayTotal::new(
                facts,
                Bounds {
                    low,
                    point: low,
                    high,
                },
                0,
            )
            .unwrap()
        };
        loads.map(day).to_vec()
    }

    fn judged(rule: RuleCode, policy: &Policy, weeks: &[Vec<DayTotal>]) -> Judgement {
        let first = date(2026, 9, 7);
        let series = DailySeries::new(first, first, weeks.concat()).unwrap();
        let week = IsoWeek::of(series.last()).unwrap();
        let judgements = judge(policy, &series, week).unwrap();
        judgements
            .into_iter()
            .find(|judgement| judgement.rule == rule)
            .unwrap()
    }

    fn monotony_of(loads: [(u16, u16); 7]) -> Outcome {
        judged(RuleCode::WeekMonotony, &policy(|_| {}), &[week_of(loads)]).outcome
    }

    const CERTAIN: Outcome = Outcome::Raised(Certainty::Certain);
    const POSSIBLE: Outcome = Outcome::Raised(Certainty::Possible);
    const SEVEN: [(u16, u16); 7] = [(300, 300); 7];

    #[test]
    fn monotony_is_raised_by_equal_days_and_never_by_empty_ones() {
        assert_eq!(monotony_of(SEVEN), CERTAIN);
        assert_eq!(monotony_of([(0, 0); 7]), Outcome::NotRaised);
        let mut open = SEVEN;
        open[0] = (0, 300);
        assert_eq!(
            monotony_of(open),
            CERTAIN,
            "sqrt(36 / 7) = 2.27 at the least"
        );
        open[0] = (0, 900);
        assert_eq!(monotony_of(open), POSSIBLE);
        open[1] = (0, 0);
        open[2] = (0, 0);
        assert_eq!(monotony_of(open), Outcome::NotRaised);
        assert_eq!(monotony_of([(0, 900); 7]), POSSIBLE);
    }

    #[test]
    fn a_monotony_that_just_meets_the_limit_is_not_over_it() {
        // S = 21, Q = 87: sample monotony sqrt(6 x 441 / (7 x 168)) = 1.5 exactly.
        let week = [7, 1, 1, 3, 3, 3, 3].map(|load| (load, load));
        let at = |text: &str| {
            let policy = policy(|draft| draft.rules[2].limit = text.parse().unwrap());
            judged(RuleCode::WeekMonotony, &policy, &[week_of(week)]).outcome
        };
        assert_eq!(at("1.4999"), CERTAIN);
        assert_eq!(at("1.5"), Outcome::NotRaised);
    }

    #[test]
    fn a_partial_week_has_no_monotony_to_judge() {
        let first = date(2026, 9, 9);
        let days = week_of(SEVEN).split_off(2);
        let series = DailySeries::new(first, first, days).unwrap();
        let judgements = judge(&policy(|_| {}), &series, IsoWeek::of(first).unwrap()).unwrap();
        let reasons = judgements.iter().map(|judgement| judgement.outcome);
        let expected = [
            Reason::FewerThan28Days,
            Reason::FewerThan4Weeks,
            Reason::FewerThan7Days,
        ];
        assert!(reasons.eq(expected.map(Outcome::NotComputable)));
        assert!(
            judgements
                .iter()
                .all(|judgement| judgement.over_by_au.is_none())
        );
    }

    #[test]
    fn own_highest_is_strict_and_takes_its_limit_as_a_multiple() {
        let single = |au| week_of([(au, au), (0, 0), (0, 0), (0, 0), (0, 0), (0, 0), (0, 0)]);
        let earlier = [2000, 1900, 1800, 1700].map(single);
        let with = |week| {
            let weeks = [&earlier[..], &[week]].concat();
            judged(RuleCode::OwnHighestWeek, &policy(|_| {}), &weeks)
        };
        let met = with(single(2200));
        assert_eq!(met.outcome, Outcome::NotRaised);
        assert_eq!(met.limit_au.unwrap().point, Fraction::whole(2200));
        assert_eq!(with(single(2201)).outcome, CERTAIN);
        let mut open = single(2100);
        open[2] = week_of([(0, 200); 7])[2];
        assert_eq!(with(open).outcome, POSSIBLE);
    }

    #[test]
    fn only_enabled_rules_are_judged_in_the_order_of_the_policy() {
        let policy = policy(|draft| {
            draft.rules.swap(0, 2);
            draft.rules[1].enabled = false;
        });
        let first = date(2026, 9, 7);
        let series = DailySeries::new(first, first, week_of(SEVEN)).unwrap();
        let judgements = judge(&policy, &series, IsoWeek::of(first).unwrap()).unwrap();
        let rules: Vec<_> = judgements.iter().map(|judgement| judgement.rule).collect();
        assert_eq!(rules, [RuleCode::WeekMonotony, RuleCode::WeekEndRatio]);
    }

    #[test]
    fn a_week_the_series_does_not_hold_is_not_judged() {
        let first = date(2026, 9, 7);
        let series = DailySeries::new(first, first, week_of(SEVEN)).unwrap();
        let judged = |text: &str| judge(&policy(|_| {}), &series, text.parse().unwrap());
        assert_eq!(judged("2026-W36"), Err(Reason::FewerThan7Days));
        assert_eq!(judged("2026-W38"), Err(Reason::NotRead));
    }
}
