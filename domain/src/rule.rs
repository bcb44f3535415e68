//! The rules a club may set, each with its limit and where the limit comes from.

use crate::coded::coded_enum;
use crate::exact::Decimal;
use crate::ratio::RatioKind;

coded_enum! {
    /// What a rule limits.
    RuleCode {
        /// The ratio at the end of the ISO week; the limit is a ratio.
        WeekEndRatio = "week_end_ratio",
        /// The week's load against the athlete's own highest recent week; the limit is a multiple
        /// of it.
        OwnHighestWeek = "own_highest_week",
        /// Monotony of the ISO week, sample divisor; the limit is a monotony.
        WeekMonotony = "week_monotony",
        /// Organised hours in the ISO week; the limit is hours per completed year of age.
        OrganisedHours = "organised_hours",
        /// Days of the week free of organised sport; the limit is the least number.
        FreeDays = "free_days",
        /// Neuromuscular warm-up; the limit is the least minutes a week.
        NeuromuscularDose = "neuromuscular_dose",
        /// Landing contacts in a session; the limit is a count.
        LandingContacts = "landing_contacts",
        /// Time between sessions with jumps; the limit is the least hours.
        JumpGap = "jump_gap",
        /// Week loads after an absence; the limit is the last step's share of the load before it.
        ReturnCeiling = "return_ceiling",
    }
}

impl RuleCode {
    /// Whether this version evaluates the rule. The others may be written down, not switched on.
    #[must_use]
    pub const fn is_evaluated(self) -> bool {
        matches!(
            self,
            RuleCode::WeekEndRatio
                | RuleCode::OwnHighestWeek
                | RuleCode::WeekMonotony
                | RuleCode::ReturnCeiling
        )
    }

    /// The limit must lie strictly between these two.
    #[must_use]
    pub fn limit_range(self, ratio_kind: Option<RatioKind>) -> (Decimal, Decimal) {
        let (above, below) = match (self, ratio_kind) {
            (RuleCode::WeekEndRatio, Some(RatioKind::Uncoupled)) => (100, 10_000),
            (RuleCode::WeekEndRatio, _) => (100, 400),
            (RuleCode::OwnHighestWeek, _) => (100, 1000),
            (RuleCode::WeekMonotony, _) => (50, 10_000),
            (RuleCode::OrganisedHours, _) => (0, 1000),
            (RuleCode::FreeDays, _) => (0, 800),
            (RuleCode::NeuromuscularDose, _) => (0, 100_000),
            (RuleCode::LandingContacts, _) => (0, 1_000_000),
            (RuleCode::JumpGap, _) => (0, 16_900),
            (RuleCode::ReturnCeiling, _) => (0, 200),
        };
        (Decimal::hundredths(above), Decimal::hundredths(below))
    }
}

/// One rule of a policy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    /// What it limits.
    pub code: RuleCode,
    /// Whether it is judged.
    pub enabled: bool,
    /// Which ratio, for the ratio rule.
    pub ratio_kind: Option<RatioKind>,
    /// The limit; "over" means strictly greater.
    pub limit: Decimal,
    /// How many earlier weeks, for the own highest week; eight if not given.
    pub window: Option<u32>,
    /// Where the limit comes from.
    pub source_note: String,
}
