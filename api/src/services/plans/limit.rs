//! What a plan is judged by: the policy in force on the Sunday of its first week, with another limit on the ratio where one is asked for.

use jiff::civil::Date;
use plimsoll_domain::{Decimal, Policy, PolicyDraft, RatioKind, Rule, RuleCode};

use super::input::LimitInput;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::fields::{self, Faults};

/// What is said of a limit that came with the question.
const GIVEN: &str = "given with the question, not the club's policy";

/// A limit that came with the question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AskedLimit {
    kind: RatioKind,
    limit: Decimal,
}

impl LimitInput {
    /// Checks it, and collects every fault.
    pub fn check(&self, faults: &mut Faults) -> Option<AskedLimit> {
        let codes = || fields::list(RatioKind::ALL.iter().map(|kind| kind.code()));
        let parse = |code: &str| {
            RatioKind::ALL
                .iter()
                .copied()
                .find(|kind| kind.code() == code)
        };
        let kind = self.ratio_kind.as_deref();
        let kind = faults.take(fields::coded("/limit/ratio_kind", kind, parse, codes));
        let limit = faults.take(self.limit(kind));
        Some(AskedLimit {
            kind: kind?,
            limit: limit?,
        })
    }

    /// The limit, within what its kind allows.
    fn limit(&self, kind: Option<RatioKind>) -> Result<Decimal, FieldProblem> {
        let (above, below) = RuleCode::WeekEndRatio.limit_range(kind);
        let allowed = format!("above {above} and below {below}, at most four decimals");
        let given = self.limit.as_ref();
        let given = given.ok_or_else(|| FieldProblem::missing("/limit/limit", &allowed))?;
        let limit = given.to_string().parse::<Decimal>().ok();
        let fault = || FieldProblem::new("/limit/limit", Code::LimitOutOfRange, given.clone());
        limit
            .filter(|limit| above < *limit && *limit < below)
            .ok_or_else(|| fault().allowed(allowed))
    }
}

/// The rules a plan is judged by.
#[derive(Debug, Clone)]
pub struct JudgedBy {
    /// The rules.
    pub policy: Policy,
    /// The version they are of; `None` where the club has no policy.
    pub version: Option<u32>,
}

impl JudgedBy {
    /// The policy, or none, with the limit that was asked for in its place.
    pub fn of(
        policy: Option<&Policy>,
        asked: Option<AskedLimit>,
        on: Date,
    ) -> Result<Self, Problem> {
        let mut draft = policy.map_or_else(|| no_rules(on), |policy| policy.clone().into_draft());
        if let Some(AskedLimit { kind, limit }) = asked {
            draft
                .rules
                .retain(|rule| rule.code != RuleCode::WeekEndRatio);
            let rule = Rule {
                code: RuleCode::WeekEndRatio,
                enabled: true,
                ratio_kind: Some(kind),
                limit,
                window: None,
                source_note: GIVEN.to_owned(),
            };
            draft.rules.insert(0, rule);
        }
        let faulty = |faults: Vec<_>| {
            Problem::internal(&format!(
                "a policy with a checked limit has {} faults",
                faults.len()
            ))
        };
        Ok(Self {
            policy: draft.check().map_err(faulty)?,
            version: policy.map(|policy| policy.version),
        })
    }

    /// The limit on the ratio, where one is judged.
    pub fn ratio_rule(&self) -> Option<&Rule> {
        let rule = self.policy.rule(RuleCode::WeekEndRatio);
        rule.filter(|rule| rule.enabled)
    }
}

/// What figures are made with in a club that has no policy; nothing is judged by it.
fn no_rules(on: Date) -> PolicyDraft {
    PolicyDraft {
        rules: Vec::new(),
        ..PolicyDraft::example(on, "nobody: the club has no policy")
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use plimsoll_domain::RatioLimit;
    use serde_json::json;

    use super::*;

    const ON: Date = date(2026, 8, 3);

    fn asked(limit: serde_json::Value) -> Result<AskedLimit, Vec<FieldProblem>> {
        let input: LimitInput = serde_json::from_value(limit).unwrap();
        let mut faults = Faults::default();
        let found = input.check(&mut faults);
        found.ok_or_else(|| faults.into_vec())
    }

    #[test]
    fn a_coupled_limit_lies_below_4() {
        for (kind, limit, fine) in [
            ("coupled", 1.3, true),
            ("coupled", 3.9999, true),
            ("coupled", 4.0, false),
            ("coupled", 1.0, false),
            ("coupled", 1.30001, false),
            ("uncoupled", 4.0, true),
        ] {
            let found = asked(json!({ "ratio_kind": kind, "limit": limit }));
            assert_eq!(found.is_ok(), fine, "{kind} {limit}");
            for fault in found.err().into_iter().flatten() {
                assert_eq!(
                    (fault.pointer.as_str(), fault.code),
                    ("/limit/limit", Code::LimitOutOfRange)
                );
                assert!(fault.allowed.is_some());
            }
        }
        let none = asked(json!({})).unwrap_err();
        let pointers: Vec<&str> = none.iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!(pointers, ["/limit/ratio_kind", "/limit/limit"]);
    }

    #[test]
    fn replaces_the_policys_limit_and_leaves_its_other_rules() {
        let policy = PolicyDraft::example(ON, "Head of training")
            .check()
            .unwrap();
        let limit = asked(json!({ "ratio_kind": "uncoupled", "limit": 1.8 })).unwrap();
        let judged = JudgedBy::of(Some(&policy), Some(limit), ON).unwrap();
        assert_eq!(judged.policy.rules.len(), policy.rules.len());
        assert_eq!(judged.version, Some(1));
        let found = RatioLimit::of(&judged.policy).unwrap();
        assert_eq!(
            (found.kind(), found.limit()),
            (RatioKind::Uncoupled, Decimal::hundredths(180))
        );
        assert_eq!(judged.ratio_rule().unwrap().source_note, GIVEN);
    }

    #[test]
    fn a_club_without_a_policy_judges_nothing_but_what_is_asked() {
        let none = JudgedBy::of(None, None, ON).unwrap();
        assert!(none.policy.rules.is_empty() && none.ratio_rule().is_none());
        let limit = asked(json!({ "ratio_kind": "coupled", "limit": 1.5 })).unwrap();
        let judged = JudgedBy::of(None, Some(limit), ON).unwrap();
        assert_eq!((judged.policy.rules.len(), judged.version), (1, None));
    }
}
