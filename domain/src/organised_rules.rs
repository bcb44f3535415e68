//! The rules about organised time: hours by age, and days free of organised sport.
//!
//! - Hours: raised where organised hours are above the limit x completed years of age on the week's
//!   Monday. At most as many hours as years: National Athletic Trainers' Association, official
//!   statement, 16 October 2019.
//! - Free days: raised where there are fewer than the limit. The same statement asks for at least two.
//! - A second line at 16 hours at any age, which is no rule of the policy: girls of 11 to 17 years with
//!   16 hours a week of activity or more had had stress fractures more often than those with fewer than
//!   4, odds ratio 1.88, 1.18 to 3.30 (Loud KJ, et al. 2005, Pediatrics 115(4):e399-e406, read in the
//!   abstract). The line is that of a cross-section of all activity; over it means strictly above.
//!
//! None of it is a medical limit. Local school, federation and labour rules come first.

use jiff::civil::Date;

use crate::age::completed_years;
use crate::exact::{Decimal, Fraction};
use crate::figure::Bounds;
use crate::judge::Outcome;
use crate::organised_week::OrganisedWeek;
use crate::reason::Reason;
use crate::rule::{Rule, RuleCode};

/// The second line, in hours a week.
pub const HOURS_LINE: u8 = 16;

/// A figure of a week against a limit, in hours or in days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AgainstLimit {
    /// The figure.
    pub value: Bounds<Fraction>,
    /// The limit in the same unit.
    pub limit: Fraction,
    /// How far the figure is beyond the limit: hours above it, or days short of it; negative while
    /// within.
    pub beyond_by: Bounds<Fraction>,
    /// What follows. Of a part of a week only what holds whatever the days before membership were.
    pub outcome: Outcome,
}

/// A rule about organised time, judged for one week in one reading of what is organised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OrganisedJudgement {
    /// The rule.
    pub rule: RuleCode,
    /// Its limit as the policy has it.
    pub limit: Decimal,
    /// The figure against it, or why there is no limit to compare with.
    pub against: Result<AgainstLimit, Reason>,
    /// How many organisations share nothing.
    pub settings_not_shared: u32,
}

impl OrganisedJudgement {
    /// What the rule says.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        self.against
            .map_or_else(Outcome::NotComputable, |against| against.outcome)
    }

    /// Whether the week may be called within the policy: not while an organisation shares nothing,
    /// because what is not shared can only add hours and take free days.
    #[must_use]
    pub fn is_within_policy(&self) -> bool {
        self.outcome() == Outcome::NotRaised && self.settings_not_shared == 0
    }
}

/// Judges a week by one rule, switched on or not; `None` if the rule is not about organised time.
#[must_use]
pub fn judge_organised(
    rule: &Rule,
    born: Option<Date>,
    week: &OrganisedWeek,
) -> Option<OrganisedJudgement> {
    let against = match rule.code {
        RuleCode::OrganisedHours => hours_by_age(rule.limit, born, week),
        RuleCode::FreeDays => Ok(free_days(rule.limit, week)),
        _ => return None,
    };
    Some(OrganisedJudgement {
        rule: rule.code,
        limit: rule.limit,
        against,
        settings_not_shared: week.settings_not_shared,
    })
}

/// Organised hours against `limit` hours a completed year of age on Monday.
///
/// # Errors
/// [`Reason::NoBirthDate`] where it is not known, or lies after that Monday.
pub fn hours_by_age(
    limit: Decimal,
    born: Option<Date>,
    week: &OrganisedWeek,
) -> Result<AgainstLimit, Reason> {
    let age = born.and_then(|born| completed_years(born, week.week.monday()));
    let age = age.ok_or(Reason::NoBirthDate)?;
    let limit = limit.to_fraction().times(Fraction::whole(age.into()));
    Ok(hours_above(limit, week))
}

/// Organised hours against [`HOURS_LINE`].
#[must_use]
pub fn hours_above_line(week: &OrganisedWeek) -> AgainstLimit {
    hours_above(Fraction::whole(HOURS_LINE.into()), week)
}

fn hours_above(limit: Fraction, week: &OrganisedWeek) -> AgainstLimit {
    let value = week.hours();
    against(week, value, limit, value.map(|hours| hours.less(limit)))
}

/// Days free of organised sport against the fewest there should be.
#[must_use]
pub fn free_days(limit: Decimal, week: &OrganisedWeek) -> AgainstLimit {
    let limit = limit.to_fraction();
    let value = week.free_days.map(|days| Fraction::whole(days.into()));
    let before_membership = 7_u8.saturating_sub(week.member_days);
    let most = Fraction::whole((week.free_days.high + before_membership).into());
    let short = Bounds {
        low: limit.less(most),
        point: limit.less(value.point),
        high: limit.less(value.low),
    };
    against(week, value, limit, short)
}

fn against(
    week: &OrganisedWeek,
    value: Bounds<Fraction>,
    limit: Fraction,
    beyond_by: Bounds<Fraction>,
) -> AgainstLimit {
    let certain = beyond_by.low > Fraction::ZERO;
    let outcome = if week.member_days < 7 && !certain {
        Outcome::NotComputable(Reason::FewerThan7Days)
    } else {
        Outcome::of(certain, beyond_by.high > Fraction::ZERO)
    };
    AgainstLimit {
        value,
        limit,
        beyond_by,
        outcome,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::judge::Certainty;

    const CERTAIN: Outcome = Outcome::Raised(Certainty::Certain);
    const POSSIBLE: Outcome = Outcome::Raised(Certainty::Possible);
    const BORN: Option<Date> = Some(date(2012, 5, 20));

    /// A week of so many minutes and free days at its ends, when she is 14.
    fn week(minutes: (u32, u32), free_days: (u8, u8)) -> OrganisedWeek {
        OrganisedWeek {
            week: "2026-W46".parse().unwrap(),
            minutes: Bounds {
                low: minutes.0,
                point: minutes.0,
                high: minutes.1,
            },
            free_days: Bounds {
                low: free_days.0,
                point: free_days.1,
                high: free_days.1,
            },
            member_days: 7,
            settings_not_shared: 0,
        }
    }

    fn rule(code: RuleCode, hundredths: i32) -> Rule {
        Rule {
            code,
            enabled: true,
            ratio_kind: None,
            limit: Decimal::hundredths(hundredths),
            window: None,
            source_note: "The club's choice.".into(),
        }
    }

    fn hours(low: u32, high: u32) -> Outcome {
        let judged = judge_organised(
            &rule(RuleCode::OrganisedHours, 100),
            BORN,
            &week((low, high), (2, 2)),
        );
        judged.unwrap().outcome()
    }

    fn days(limit: i32, low: u8, high: u8) -> Outcome {
        let rule = rule(RuleCode::FreeDays, limit);
        let judged = judge_organised(&rule, BORN, &week((0, 0), (low, high)));
        judged.unwrap().outcome()
    }

    #[test]
    fn as_many_hours_as_years_are_not_over() {
        assert_eq!(hours(840, 840), Outcome::NotRaised);
        assert_eq!(hours(841, 841), CERTAIN);
        assert_eq!(hours(840, 841), POSSIBLE);
    }

    #[test]
    fn the_limit_is_hours_a_year_of_age() {
        let half = rule(RuleCode::OrganisedHours, 50);
        let judged = judge_organised(&half, BORN, &week((450, 450), (2, 2))).unwrap();
        let against = judged.against.unwrap();
        assert_eq!(against.limit, Fraction::whole(7));
        assert_eq!(Some(against.beyond_by.point), Fraction::new(1, 2));
    }

    #[test]
    fn as_many_free_days_as_asked_for_are_enough() {
        assert_eq!(days(100, 1, 1), Outcome::NotRaised);
        assert_eq!(days(200, 1, 1), CERTAIN);
        assert_eq!(days(200, 1, 2), POSSIBLE);
        assert_eq!(days(100, 0, 0), CERTAIN);
    }

    #[test]
    fn without_an_age_there_is_no_limit() {
        let rule = rule(RuleCode::OrganisedHours, 100);
        for born in [None, Some(date(2026, 11, 10))] {
            let judged = judge_organised(&rule, born, &week((6000, 6000), (0, 0))).unwrap();
            assert_eq!(judged.against, Err(Reason::NoBirthDate));
            assert!(!judged.is_within_policy());
        }
    }

    #[test]
    fn sixteen_hours_are_a_line_at_any_age() {
        let line = |low, high| hours_above_line(&week((low, high), (1, 1))).outcome;
        assert_eq!(line(960, 960), Outcome::NotRaised);
        assert_eq!(line(961, 961), CERTAIN);
        assert_eq!(line(900, 961), POSSIBLE);
    }

    #[test]
    fn of_a_part_of_a_week_only_what_is_sure_is_said() {
        let part = |minutes, free_days, member_days| OrganisedWeek {
            member_days,
            ..week((minutes, minutes), (free_days, free_days))
        };
        let judged = |code, limit, week| {
            let judged = judge_organised(&rule(code, limit), BORN, &week);
            judged.unwrap().outcome()
        };
        let unknown = Outcome::NotComputable(Reason::FewerThan7Days);
        assert_eq!(
            judged(RuleCode::OrganisedHours, 100, part(840, 1, 5)),
            unknown
        );
        assert_eq!(
            judged(RuleCode::OrganisedHours, 100, part(841, 1, 5)),
            CERTAIN
        );
        assert_eq!(judged(RuleCode::FreeDays, 200, part(0, 0, 5)), unknown);
        assert_eq!(judged(RuleCode::FreeDays, 300, part(0, 0, 5)), CERTAIN);
    }

    #[test]
    fn what_is_not_shared_leaves_nothing_within_policy() {
        let shared = week((600, 600), (2, 2));
        let not_shared = OrganisedWeek {
            settings_not_shared: 1,
            ..shared
        };
        let rule = rule(RuleCode::OrganisedHours, 100);
        let of = |week| judge_organised(&rule, BORN, week).unwrap();
        assert!(of(&shared).is_within_policy());
        assert_eq!(of(&not_shared).outcome(), Outcome::NotRaised);
        assert!(!of(&not_shared).is_within_policy());
    }

    #[test]
    fn other_rules_are_not_about_organised_time() {
        let other = RuleCode::ALL.iter().filter(|code| {
            judge_organised(&rule(**code, 100), BORN, &week((0, 0), (7, 7))).is_none()
        });
        assert_eq!(other.count(), RuleCode::ALL.len() - 2);
    }
}
