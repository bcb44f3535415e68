//! A policy as it is sent and as its version is stored.

use jiff::civil::Date;
use plimsoll_domain::{
    Decimal, Load, Midnight, NothingSaid, Policy, PolicyDraft, PolicyFault, RatioKind, Rule,
    RuleCode, SecondApprover, Setting,
};
use serde::{Deserialize, Serialize};
use serde_json::{Number, Value, json};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::services::{local_time, text};
use crate::web::object;

/// A club's rules and choices. Nothing in it is a medical limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "effective_from": "2026-08-03", "approved_by": "M. Lindholt, head of youth",
    "source_note": "club board, season 2026/27",
    "organised_settings": ["club", "school_team", "pe", "second_club", "prescribed_home", "private"],
    "nothing_said": "assumed_rest", "midnight": "start_date", "chronic_floor_au": 250,
    "rules": [
        {"code": "week_end_ratio", "enabled": true, "ratio_kind": "coupled", "limit": 1.5,
         "source_note": "club choice; disputed in the literature"},
        {"code": "own_highest_week", "enabled": true, "limit": 1.1, "window": 8,
         "source_note": "club choice"},
        {"code": "week_monotony", "enabled": true, "limit": 2, "source_note": "club choice"}]}))]
pub struct PolicyBody {
    /// First date it applies to, YYYY-MM-DD.
    #[schema(format = Date)]
    pub effective_from: String,
    /// The person who answers for it.
    pub approved_by: String,
    /// Where it comes from as a whole.
    pub source_note: String,
    /// Settings that count as organised.
    pub organised_settings: Vec<String>,
    /// What a day is on which nothing was expected and nothing said: assumed_rest or unknown.
    pub nothing_said: String,
    /// Where the load of a session over midnight goes: start_date or split.
    pub midnight: String,
    /// Mean week of the three prior weeks below which no ratio is given, in AU.
    #[schema(value_type = f64, minimum = 0, maximum = 105_000, multiple_of = 0.5)]
    pub chronic_floor_au: Number,
    /// Whether the next change takes two persons, with a draft and its approval: required or not_required.
    #[serde(default = "not_required")]
    #[schema(default = "not_required")]
    pub second_approver: String,
    /// The rules, each at most once.
    #[serde(deserialize_with = "object::list")]
    pub rules: Vec<RuleBody>,
}

/// What is meant where nothing is said, as in the policies stored before the field was there.
fn not_required() -> String {
    SecondApprover::NotRequired.code().to_owned()
}

/// One rule with its limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RuleBody {
    /// week_end_ratio, own_highest_week or week_monotony; others are known but not evaluated yet.
    pub code: String,
    /// Whether it is evaluated.
    pub enabled: bool,
    /// coupled or uncoupled; with week_end_ratio only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ratio_kind: Option<String>,
    /// The limit, at most four decimals: a ratio, a multiple of the own highest week, a monotony.
    #[schema(value_type = f64)]
    pub limit: Number,
    /// Earlier weeks that own_highest_week looks at, 4 to 26; 8 unless given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window: Option<u32>,
    /// Where the limit comes from.
    pub source_note: String,
}

impl PolicyBody {
    /// The example policy: every value is the club's to change, none is a medical limit.
    pub fn example(effective_from: Date, approved_by: &str) -> Self {
        Self::of(&PolicyDraft::example(effective_from, approved_by))
    }

    /// A policy as it would be sent.
    pub fn of(draft: &PolicyDraft) -> Self {
        let number = |value: f64| Number::from_f64(value).unwrap_or_else(|| 0.into());
        let rule = |rule: &Rule| RuleBody {
            code: rule.code.code().to_owned(),
            enabled: rule.enabled,
            ratio_kind: rule.ratio_kind.map(|kind| kind.code().to_owned()),
            limit: number(rule.limit.to_f64()),
            window: rule.window,
            source_note: rule.source_note.clone(),
        };
        let organised = draft.organised_settings.iter();
        Self {
            effective_from: draft.effective_from.to_string(),
            approved_by: draft.approved_by.clone(),
            source_note: draft.source_note.clone(),
            organised_settings: organised.map(|setting| setting.code().to_owned()).collect(),
            nothing_said: draft.nothing_said.code().to_owned(),
            midnight: draft.midnight.code().to_owned(),
            chronic_floor_au: number(draft.chronic_floor.to_au()),
            second_approver: draft.second_approver.code().to_owned(),
            rules: draft.rules.iter().map(rule).collect(),
        }
    }

    /// Checks everything and makes the policy of this version.
    ///
    /// # Errors
    /// Every field at fault, the first fault of each.
    pub fn check(&self, version: u32) -> Result<Policy, Vec<FieldProblem>> {
        let mut faults = Vec::new();
        let effective_from = local_time::near_date("/effective_from", &self.effective_from)
            .map_err(|fault| faults.push(fault));
        for (pointer, given) in [
            ("/approved_by", &self.approved_by),
            ("/source_note", &self.source_note),
        ] {
            faults.extend(text::line(pointer, given, 200).err());
        }
        let nothing_said = choice(
            "/nothing_said",
            &self.nothing_said,
            NothingSaid::ALL,
            |c| c.code(),
            &mut faults,
        );
        let midnight = choice(
            "/midnight",
            &self.midnight,
            Midnight::ALL,
            |c| c.code(),
            &mut faults,
        );
        let second_approver = choice(
            "/second_approver",
            &self.second_approver,
            SecondApprover::ALL,
            |c| c.code(),
            &mut faults,
        );
        let (organised_at, organised_settings) = self.organised(&mut faults).into_iter().unzip();
        let (rules_at, rules) = self.readable_rules(&mut faults).into_iter().unzip();
        let places = Places {
            organised_at,
            rules_at,
        };
        // What cannot be read has a stand-in, so that the rest is judged all the same.
        let draft = PolicyDraft {
            version,
            effective_from: effective_from.unwrap_or(Date::ZERO),
            approved_by: self.approved_by.clone(),
            source_note: self.source_note.clone(),
            organised_settings,
            nothing_said: nothing_said.unwrap_or(NothingSaid::AssumedRest),
            midnight: midnight.unwrap_or(Midnight::StartDate),
            chronic_floor: self.floor(&mut faults),
            second_approver: second_approver.unwrap_or(SecondApprover::NotRequired),
            rules,
        };
        let checked = draft.check();
        for found in checked.as_ref().err().into_iter().flatten() {
            let pointer = places.pointer(&found.field);
            if !faults.iter().any(|fault| fault.pointer == pointer) {
                faults.push(self.fault(pointer, &found.fault));
            }
        }
        checked.ok().filter(|_| faults.is_empty()).ok_or(faults)
    }

    /// The settings that are known, each with its place in the list.
    fn organised(&self, faults: &mut Vec<FieldProblem>) -> Vec<(usize, Setting)> {
        let settings = self.organised_settings.iter().enumerate();
        settings
            .filter_map(|(at, given)| {
                let pointer = format!("/organised_settings/{at}");
                let setting = choice(&pointer, given, Setting::ALL, |c| c.code(), faults);
                setting.map(|setting| (at, setting))
            })
            .collect()
    }

    /// The rules whose code is known, each with its place in the list.
    fn readable_rules(&self, faults: &mut Vec<FieldProblem>) -> Vec<(usize, Rule)> {
        let rules = self.rules.iter().enumerate();
        rules
            .filter_map(|(at, rule)| Some((at, rule.check(at, faults)?)))
            .collect()
    }

    fn floor(&self, faults: &mut Vec<FieldProblem>) -> Load {
        let half = self.chronic_floor_au.as_f64().map(|au| au * 2.0);
        let whole = half.filter(|half| half.fract() == 0.0 && (0.0..=210_000.0).contains(half));
        #[expect(clippy::cast_possible_truncation, reason = "whole and at most 210,000")]
        let load = whole.and_then(|half| Load::from_half_au(half as i64));
        load.unwrap_or_else(|| {
            faults.push(
                FieldProblem::new(
                    "/chronic_floor_au",
                    Code::OutOfRange,
                    self.chronic_floor_au.clone(),
                )
                .allowed("0 to 105000 in steps of 0.5"),
            );
            Load::ZERO
        })
    }

    /// A fault found by the domain, with the value as it was given.
    fn fault(&self, pointer: String, fault: &PolicyFault) -> FieldProblem {
        let given = json!(self)
            .pointer(&pointer)
            .cloned()
            .unwrap_or(Value::Null);
        let problem = FieldProblem::new(pointer, code_of(fault), given);
        match fault {
            PolicyFault::NotEvaluated => problem,
            PolicyFault::LimitOutOfRange { above, below } => {
                problem.allowed(format!("above {above} and below {below}"))
            }
            PolicyFault::RatioKindMissing => problem.allowed("coupled, uncoupled"),
            PolicyFault::WindowOutOfRange => problem.allowed("4 to 26"),
            other => problem.detail(format!("The field {other}.")),
        }
    }
}

/// Where the readable entries of the lists stand in the body.
struct Places {
    organised_at: Vec<usize>,
    rules_at: Vec<usize>,
}

impl Places {
    /// The pointer of a field that the domain names, as in `rules/0/limit`.
    fn pointer(&self, field: &str) -> String {
        let mut parts: Vec<String> = field.split('/').map(str::to_owned).collect();
        let places = match parts[0].as_str() {
            "organised_settings" => &self.organised_at,
            "rules" => &self.rules_at,
            _ => return format!("/{field}"),
        };
        if let Some(part) = parts.get_mut(1)
            && let Some(at) = part.parse().ok().and_then(|at: usize| places.get(at))
        {
            *part = at.to_string();
        }
        format!("/{}", parts.join("/"))
    }
}

impl RuleBody {
    fn check(&self, at: usize, faults: &mut Vec<FieldProblem>) -> Option<Rule> {
        let pointer = |field: &str| format!("/rules/{at}/{field}");
        let code = choice(
            &pointer("code"),
            &self.code,
            RuleCode::ALL,
            |c| c.code(),
            faults,
        );
        let ratio_kind = self.ratio_kind.as_ref().and_then(|given| {
            choice(
                &pointer("ratio_kind"),
                given,
                RatioKind::ALL,
                |c| c.code(),
                faults,
            )
        });
        let limit = self.limit.to_string().parse::<Decimal>().map_err(|error| {
            faults.push(
                FieldProblem::new(pointer("limit"), Code::LimitOutOfRange, self.limit.clone())
                    .detail(format!("{error}."))
                    .allowed("a number with at most four decimals"),
            );
        });
        faults.extend(text::line(&pointer("source_note"), &self.source_note, 200).err());
        Some(Rule {
            code: code?,
            enabled: self.enabled,
            ratio_kind,
            limit: limit.unwrap_or(Decimal::hundredths(0)),
            window: self.window,
            source_note: self.source_note.clone(),
        })
    }
}

fn choice<T: Copy>(
    pointer: &str,
    given: &str,
    all: &[T],
    code: impl Fn(T) -> &'static str,
    faults: &mut Vec<FieldProblem>,
) -> Option<T> {
    let found = all.iter().copied().find(|value| code(*value) == given);
    if found.is_none() {
        let allowed = all
            .iter()
            .map(|value| code(*value))
            .collect::<Vec<_>>()
            .join(", ");
        let given = crate::web::json::shorten_text(given);
        faults.push(FieldProblem::new(pointer, Code::UnknownValue, given).allowed(allowed));
    }
    found
}

fn code_of(fault: &PolicyFault) -> Code {
    match fault {
        PolicyFault::Empty => Code::TextEmpty,
        PolicyFault::Duplicate => Code::RuleTwice,
        PolicyFault::LimitOutOfRange { .. } => Code::LimitOutOfRange,
        PolicyFault::RatioKindMissing => Code::MissingField,
        PolicyFault::NotEvaluated => Code::RuleNotEvaluated,
        PolicyFault::VersionZero
        | PolicyFault::FloorTooHigh
        | PolicyFault::WindowOutOfRange
        | PolicyFault::RatioKindNotAllowed
        | PolicyFault::WindowNotAllowed => Code::OutOfRange,
    }
}

#[cfg(test)]
mod tests;
