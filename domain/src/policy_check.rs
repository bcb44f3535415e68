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
