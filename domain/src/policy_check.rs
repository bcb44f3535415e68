//! Checking a policy draft: every fault at once, each with its field.

use std::collections::BTreeSet;

use crate::load::Load;
use crate::own_highest;
use crate::policy::{Policy, PolicyDraft, PolicyFault, PolicyProblem};
use crate::rule::{Rule, RuleCode};

const LONGEST_OWN_HIGHEST_WINDOW: u32 = 26;

impl PolicyDraft {
    /// The policy, if every value makes sense.
    ///
    /// # Errors
    /// All faults found, in the order of the fields.
    pub fn check(self) -> Result<Policy, Vec<PolicyProblem>> {
        let mut found = Vec::new();
        self.check_head(&mut found);
        let mut seen = BTreeSet::new();
        for (at, rule) in self.rules.iter().enumerate() {
            let mut report =
                |field: &str, fault| report(&mut found, format!("rules/{at}/{field}"), fault);
            if !seen.insert(rule.code) {
                report("code", PolicyFault::Duplicate);
            }
            check_rule(rule, &mut report);
        }
        if found.is_empty() {
            Ok(Policy::checked(self))
        } else {
            Err(found)
        }
    }

    fn check_head(&self, found: &mut Vec<PolicyProblem>) {
        if self.version == 0 {
            report(found, "version".into(), PolicyFault::VersionZero);
        }
        for (field, text) in [
            ("approved_by", &self.approved_by),
            ("source_note", &self.source_note),
        ] {
            if text.trim().is_empty() {
                report(found, field.into(), PolicyFault::Empty);
            }
        }
        let mut seen = BTreeSet::new();
        for (at, setting) in self.organised_settings.iter().enumerate() {
            if !seen.insert(setting) {
                report(
                    found,
                    format!("organised_settings/{at}"),
                    PolicyFault::Duplicate,
                );
            }
        }
        if self.chronic_floor.half_au() > 7 * Load::DAY_MAX.half_au() {
            report(found, "chronic_floor_au".into(), PolicyFault::FloorTooHigh);
        }
    }
}

fn report(found: &mut Vec<PolicyProblem>, field: String, fault: PolicyFault) {
    found.push(PolicyProblem { field, fault });
}

fn check_rule(rule: &Rule, report: &mut impl FnMut(&str, PolicyFault)) {
    if rule.enabled && !rule.code.is_evaluated() {
        report("enabled", PolicyFault::NotEvaluated);
    }
    match (rule.code, rule.ratio_kind) {
        (RuleCode::WeekEndRatio, None) => report("ratio_kind", PolicyFault::RatioKindMissing),
        (RuleCode::WeekEndRatio, Some(_)) | (_, None) => {}
        (_, Some(_)) => report("ratio_kind", PolicyFault::RatioKindNotAllowed),
    }
    let (above, below) = rule.code.limit_range(rule.ratio_kind);
    if rule.limit <= above || rule.limit >= below {
        report("limit", PolicyFault::LimitOutOfRange { above, below });
    }
    let weeks = u32::from(own_highest::LEAST_WEEKS)..=LONGEST_OWN_HIGHEST_WINDOW;
    match (rule.code, rule.window) {
        (_, None) => {}
        (RuleCode::OwnHighestWeek, Some(window)) if weeks.contains(&window) => {}
        (RuleCode::OwnHighestWeek, Some(_)) => report("window", PolicyFault::WindowOutOfRange),
        (_, Some(_)) => report("window", PolicyFault::WindowNotAllowed),
    }
    if rule.source_note.trim().is_empty() {
        report("source_note", PolicyFault::Empty);
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::exact::Decimal;
    use crate::ratio::RatioKind;

    fn example() -> PolicyDraft {
        PolicyDraft::example(date(2026, 8, 3), "Policy owner")
    }

    fn faults(change: impl FnOnce(&mut PolicyDraft)) -> Vec<(String, &'static str)> {
        let mut draft = example();
        change(&mut draft);
        let problems = draft.check().err().unwrap_or_default();
        problems
            .into_iter()
            .map(|problem| (problem.field, problem.fault.code()))
            .collect()
    }

    fn one(field: &str, code: &'static str) -> Vec<(String, &'static str)> {
        vec![(field.into(), code)]
    }

    #[test]
    fn the_example_passes_and_enables_what_is_evaluated() {
        let policy = example().check().unwrap();
        let enabled: Vec<_> = policy
            .rules
            .iter()
            .filter(|rule| rule.enabled)
            .map(|rule| rule.code)
            .collect();
        assert_eq!(
            enabled,
            [
                RuleCode::WeekEndRatio,
                RuleCode::OwnHighestWeek,
                RuleCode::WeekMonotony,
                RuleCode::ReturnCeiling
            ]
        );
        assert_eq!(policy.rules.len(), RuleCode::ALL.len());
        assert_eq!(policy.figure_settings().own_highest_weeks, 8);
        assert_eq!(policy.clone().into_draft(), example());
        assert!(policy.rule(RuleCode::FreeDays).is_some());
    }

    #[test]
    fn a_ratio_limit_lies_between_one_and_four() {
        for (limit, fits) in [(100, false), (101, true), (399, true), (400, false)] {
            let found = faults(|draft| draft.rules[0].limit = Decimal::hundredths(limit));
            assert_eq!(found.is_empty(), fits, "{limit}");
        }
        let uncoupled = faults(|draft| {
            draft.rules[0].ratio_kind = Some(RatioKind::Uncoupled);
            draft.rules[0].limit = Decimal::hundredths(400);
        });
        assert!(uncoupled.is_empty());
    }

    #[test]
    fn each_fault_names_its_field() {
        assert_eq!(
            faults(|draft| draft.version = 0),
            one("version", "version_out_of_range")
        );
        assert_eq!(
            faults(|draft| draft.approved_by = " ".into()),
            one("approved_by", "empty")
        );
        assert_eq!(
            faults(|draft| draft.rules[1].source_note = String::new()),
            one("rules/1/source_note", "empty")
        );
        assert_eq!(
            faults(|draft| draft.rules[3].enabled = true),
            one("rules/3/enabled", "rule_not_evaluated")
        );
        assert_eq!(
            faults(|draft| draft.rules[0].ratio_kind = None),
            one("rules/0/ratio_kind", "ratio_kind_missing")
        );
        assert_eq!(
            faults(|draft| draft.rules[2].ratio_kind = Some(RatioKind::Coupled)),
            one("rules/2/ratio_kind", "ratio_kind_not_allowed")
        );
        assert_eq!(
            faults(|draft| draft.rules[1].window = Some(27)),
            one("rules/1/window", "window_out_of_range")
        );
        assert_eq!(
            faults(|draft| draft.rules[2].window = Some(8)),
            one("rules/2/window", "window_not_allowed")
        );
        assert_eq!(
            faults(|draft| draft.rules[4].code = RuleCode::OrganisedHours),
            one("rules/4/code", "duplicate")
        );
        assert_eq!(
            faults(|draft| draft.chronic_floor = Load::MAX),
            one("chronic_floor_au", "chronic_floor_out_of_range")
        );
        assert_eq!(
            faults(|draft| draft.organised_settings.push(crate::Setting::Club)),
            one("organised_settings/6", "duplicate")
        );
    }

    #[test]
    fn all_faults_come_at_once() {
        let found = faults(|draft| {
            draft.approved_by = String::new();
            draft.rules[0].limit = Decimal::hundredths(400);
            draft.rules[7].enabled = true;
        });
        let fields: Vec<_> = found.iter().map(|(field, _)| field.as_str()).collect();
        assert_eq!(fields, ["approved_by", "rules/0/limit", "rules/7/enabled"]);
    }
}
