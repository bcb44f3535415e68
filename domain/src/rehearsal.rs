//! What a policy raises in a span of past weeks: numbers, never names.
//!
//! The person who decides about a policy sees how many findings it would have brought each group's
//! coach, and how sure they were. It says nothing about injuries: a limit fitted to past injuries is
//! fitted to small numbers in hindsight.

use std::collections::BTreeMap;

use crate::exact::Fraction;
use crate::judge::{Certainty, judge};
use crate::policy::Policy;
use crate::rule::RuleCode;
use crate::series::DailySeries;
use crate::week::IsoWeek;

/// New findings a week in a group of 15 above which a coach gets more than she can act on. Common
/// practice, no source.
pub const BUDGET: u32 = 3;

/// `15 F / N` for F findings in N weeks of athletes; `None` of no weeks.
#[must_use]
pub fn a_week_per_15_athletes(findings: u32, athlete_weeks: u32) -> Option<Fraction> {
    Fraction::new(15 * i64::from(findings), i64::from(athlete_weeks))
}

/// Findings by how sure they were.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Over the limit whatever the unlogged sessions were.
    pub certain: u32,
    /// Over the limit for some values of the unlogged sessions.
    pub possible: u32,
}

impl Tally {
    /// Findings of both kinds.
    #[must_use]
    pub const fn total(self) -> u32 {
        self.certain + self.possible
    }

    const fn count(&mut self, certainty: Certainty) {
        match certainty {
            Certainty::Certain => self.certain += 1,
            Certainty::Possible => self.possible += 1,
        }
    }
}

/// A group's findings of one week.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct GroupWeek {
    /// Athletes with at least one.
    pub athletes: u32,
    /// The findings.
    pub findings: Tally,
}

/// What was raised, counted over athletes and weeks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rehearsal<G> {
    /// Weeks of athletes that were judged.
    pub athlete_weeks: u32,
    /// All findings. One athlete and week can have one of each rule.
    pub findings: Tally,
    /// The findings of each rule that raised any.
    pub by_rule: BTreeMap<RuleCode, Tally>,
    /// The weeks of each group, one who is in two groups counted in both.
    pub groups: BTreeMap<G, BTreeMap<IsoWeek, GroupWeek>>,
}

impl<G> Default for Rehearsal<G> {
    fn default() -> Self {
        Self {
            athlete_weeks: 0,
            findings: Tally::default(),
            by_rule: BTreeMap::new(),
            groups: BTreeMap::new(),
        }
    }
}

impl<G: Ord> Rehearsal<G> {
    /// Judges one athlete's week by a policy and counts what it raises, also for the groups she was
    /// in. A week without figures is not counted.
    pub fn add(
        &mut self,
        policy: &Policy,
        series: &DailySeries,
        week: IsoWeek,
        groups: impl IntoIterator<Item = G>,
    ) {
        let Ok(judgements) = judge(policy, series, week) else {
            return;
        };
        self.athlete_weeks += 1;
        let mut of_week = Tally::default();
        for judgement in judgements {
            if let Some(certainty) = judgement.certainty() {
                of_week.count(certainty);
                self.findings.count(certainty);
                let of_rule = self.by_rule.entry(judgement.rule).or_default();
                of_rule.count(certainty);
            }
        }
        for group in groups {
            let weeks = self.groups.entry(group).or_default();
            let in_group = weeks.entry(week).or_default();
            in_group.athletes += u32::from(of_week.total() > 0);
            in_group.findings.certain += of_week.certain;
            in_group.findings.possible += of_week.possible;
        }
    }

    /// Findings in a week of a group of 15: `15 F / N` for F findings in N weeks of athletes; `None`
    /// where no week was judged.
    #[must_use]
    pub fn a_week_per_15_athletes(&self) -> Option<Fraction> {
        a_week_per_15_athletes(self.findings.total(), self.athlete_weeks)
    }

    /// The week that brought a group the most athletes to look at, then the most findings; the first
    /// such week, and `None` where none brought any.
    pub fn worst_week(&self, group: &G) -> Option<(IsoWeek, GroupWeek)> {
        let weeks = self.groups.get(group)?.iter();
        let with_any = weeks.filter(|(_, of_week)| of_week.athletes > 0);
        with_any
            .rev()
            .max_by_key(|(_, of_week)| (of_week.athletes, of_week.findings.total()))
            .map(|(week, of_week)| (*week, *of_week))
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::load::Load;
    use crate::policy::PolicyDraft;

    /// A member since Monday 7 September 2026, whose loads lie on Mondays.
    fn series(weeks: &[u16]) -> DailySeries {
        let days = weeks.iter().flat_map(|week| [*week, 0, 0, 0, 0, 0, 0]);
        let days: Vec<Load> = days.map(Load::from_au).collect();
        DailySeries::of_loads(date(2026, 9, 7), &days).unwrap()
    }

    fn policy() -> Policy {
        let mut draft = PolicyDraft::example(date(2026, 1, 1), "Policy owner");
        draft.rules.retain(|rule| {
            rule.code == RuleCode::WeekEndRatio || rule.code == RuleCode::OwnHighestWeek
        });
        draft.check().unwrap()
    }

    fn week(number: i8) -> IsoWeek {
        IsoWeek::new(2026, number).unwrap()
    }

    /// P = 4300 in week 40: over a coupled 1.5 from 2580 on (1.5 x 4300 / 2.5), and over her own
    /// highest, 1500, by a tenth from 1650 on.
    #[test]
    fn findings_are_counted_by_rule_and_group() {
        let mut rehearsal = Rehearsal::default();
        let spiked = series(&[1000, 1400, 1400, 1500, 2600]);
        let steady = series(&[1000, 1400, 1400, 1500, 1600]);
        for number in 37..=41 {
            rehearsal.add(&policy(), &spiked, week(number), ["U16", "U18"]);
            rehearsal.add(&policy(), &steady, week(number), ["U16"]);
        }
        let found = Tally {
            certain: 2,
            possible: 0,
        };
        assert_eq!((rehearsal.findings, rehearsal.athlete_weeks), (found, 10));
        let once = Tally {
            certain: 1,
            possible: 0,
        };
        let by_rule = [
            (RuleCode::WeekEndRatio, once),
            (RuleCode::OwnHighestWeek, once),
        ];
        assert_eq!(rehearsal.by_rule, BTreeMap::from(by_rule));
        let worst = GroupWeek {
            athletes: 1,
            findings: found,
        };
        for group in ["U16", "U18"] {
            assert_eq!(rehearsal.worst_week(&group), Some((week(41), worst)));
        }
        assert_eq!(rehearsal.groups["U16"].len(), 5);
        assert_eq!(rehearsal.a_week_per_15_athletes(), Fraction::new(3, 1));
    }

    #[test]
    fn without_weeks_there_is_no_rate_and_no_worst_week() {
        let mut rehearsal = Rehearsal::default();
        rehearsal.add(&policy(), &series(&[1000]), week(30), ["U16"]);
        assert_eq!(rehearsal, Rehearsal::default());
        assert_eq!(rehearsal.a_week_per_15_athletes(), None);
        assert_eq!(rehearsal.worst_week(&"U16"), None);
    }

    #[test]
    fn of_equally_bad_weeks_the_first_is_named() {
        let mut rehearsal = Rehearsal::default();
        let twice = series(&[1000, 1000, 1000, 1000, 2100, 900, 900, 900, 900, 2400]);
        for number in 37..=46 {
            rehearsal.add(&policy(), &twice, week(number), [()]);
        }
        let counts = rehearsal.groups[&()]
            .values()
            .map(|of_week| of_week.findings.total());
        assert_eq!(counts.collect::<Vec<_>>(), [0, 0, 0, 0, 2, 0, 0, 0, 0, 2]);
        assert_eq!(
            rehearsal.worst_week(&()).map(|(week, _)| week),
            Some(week(41))
        );
    }
}
