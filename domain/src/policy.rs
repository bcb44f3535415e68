//! A club's policy: its rules and choices as data, versioned, approved by a named person.

use jiff::civil::Date;

use crate::coded::coded_enum;
use crate::day_figures::FigureSettings;
use crate::day_state::NothingSaid;
use crate::ewma::Seed;
use crate::exact::Decimal;
use crate::load::Load;
use crate::own_highest;
use crate::rule::{Rule, RuleCode};
use crate::session::Setting;

coded_enum! {
    /// Where the load of a session that crosses midnight goes.
    Midnight {
        /// Wholly to the date of its start.
        StartDate = "start_date",
        /// To both dates by minutes.
        Split = "split",
    }
}

coded_enum! {
    /// Whether a change of the policy takes two persons.
    SecondApprover {
        /// One person may change it.
        NotRequired = "not_required",
        /// Another person than the one who wrote it approves each change.
        Required = "required",
    }
}

/// A policy as written, not yet checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PolicyDraft {
    /// Counts up from 1.
    pub version: u32,
    /// The first date it applies to.
    pub effective_from: Date,
    /// The person who answers for it.
    pub approved_by: String,
    /// Where it comes from as a whole.
    pub source_note: String,
    /// Settings that count as organised.
    pub organised_settings: Vec<Setting>,
    /// What a day is on which nothing was expected and nothing was said.
    pub nothing_said: NothingSaid,
    /// Where the load of a session that crosses midnight goes.
    pub midnight: Midnight,
    /// The mean weekly load of the three prior weeks below which no ratio is given.
    pub chronic_floor: Load,
    /// Whether the next change of the policy takes two persons.
    pub second_approver: SecondApprover,
    /// The rules.
    pub rules: Vec<Rule>,
}

/// A policy whose every value has been checked. It reads like its draft.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Policy(PolicyDraft);

impl std::ops::Deref for Policy {
    type Target = PolicyDraft;

    fn deref(&self) -> &PolicyDraft {
        &self.0
    }
}

/// One thing wrong with a draft.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PolicyProblem {
    /// The field, as in `rules/0/limit`.
    pub field: String,
    /// What is wrong with it.
    pub fault: PolicyFault,
}

/// What can be wrong with a field of a draft.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PolicyFault {
    /// Versions count from 1.
    #[error("a policy version is 1 or more")]
    VersionZero,
    /// No text.
    #[error("must not be empty")]
    Empty,
    /// Listed before.
    #[error("is listed twice")]
    Duplicate,
    /// More than any week can hold.
    #[error("is more than a week can hold (105000 AU)")]
    FloorTooHigh,
    /// Outside what makes sense for the rule.
    #[error("must be above {above} and below {below}")]
    LimitOutOfRange {
        /// Exclusive.
        above: Decimal,
        /// Exclusive.
        below: Decimal,
    },
    /// The ratio rule must say which ratio.
    #[error("must be coupled or uncoupled")]
    RatioKindMissing,
    /// Only the ratio rule has a kind.
    #[error("belongs to week_end_ratio only")]
    RatioKindNotAllowed,
    /// The own highest week looks at 4 to 26 weeks.
    #[error("must be 4 to 26 weeks")]
    WindowOutOfRange,
    /// Only the own highest week has a window.
    #[error("belongs to own_highest_week only")]
    WindowNotAllowed,
    /// A rule this version does not evaluate cannot be switched on.
    #[error("this rule is not evaluated yet by this version and cannot be enabled")]
    NotEvaluated,
}

impl PolicyFault {
    /// The stable code of an answer.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            PolicyFault::VersionZero => "version_out_of_range",
            PolicyFault::Empty => "empty",
            PolicyFault::Duplicate => "duplicate",
            PolicyFault::FloorTooHigh => "chronic_floor_out_of_range",
            PolicyFault::LimitOutOfRange { .. } => "limit_out_of_range",
            PolicyFault::RatioKindMissing => "ratio_kind_missing",
            PolicyFault::RatioKindNotAllowed => "ratio_kind_not_allowed",
            PolicyFault::WindowOutOfRange => "window_out_of_range",
            PolicyFault::WindowNotAllowed => "window_not_allowed",
            PolicyFault::NotEvaluated => "rule_not_evaluated",
        }
    }
}

impl Policy {
    pub(crate) const fn checked(draft: PolicyDraft) -> Policy {
        Policy(draft)
    }

    /// The draft back, to change and check again.
    #[must_use]
    pub fn into_draft(self) -> PolicyDraft {
        self.0
    }

    /// The same policy from another date on; no rule depends on it.
    #[must_use]
    pub fn effective_from(mut self, date: Date) -> Policy {
        self.0.effective_from = date;
        self
    }

    /// The rule with this code.
    #[must_use]
    pub fn rule(&self, code: RuleCode) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.code == code)
    }

    /// What the policy decides about figures.
    #[must_use]
    pub fn figure_settings(&self) -> FigureSettings {
        let window = self
            .rule(RuleCode::OwnHighestWeek)
            .and_then(|rule| rule.window);
        FigureSettings {
            chronic_floor: self.chronic_floor,
            seed: Seed::FirstDay,
            nothing_said: self.nothing_said,
            own_highest_weeks: window
                .and_then(|weeks| u8::try_from(weeks).ok())
                .unwrap_or(own_highest::WEEKS),
            last_return_share: self
                .rule(RuleCode::ReturnCeiling)
                .map_or(Decimal::hundredths(100), |rule| rule.limit),
        }
    }
}
