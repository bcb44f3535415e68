//! An example policy, to be edited and approved by a club before use. None of it is a medical
//! limit.

use jiff::civil::Date;

use crate::day_state::NothingSaid;
use crate::exact::Decimal;
use crate::load::Load;
use crate::policy::{Midnight, PolicyDraft, SecondApprover};
use crate::ratio::RatioKind;
use crate::rule::{Rule, RuleCode};
use crate::session::Setting;

impl PolicyDraft {
    /// The example policy, version 1, valid from a date. A value recalled and not read in its
    /// source says so in its note.
    #[must_use]
    pub fn example(effective_from: Date, approved_by: &str) -> PolicyDraft {
        PolicyDraft {
            version: 1,
            effective_from,
            approved_by: approved_by.into(),
            source_note: "Example policy: change every value to what the club decides. \
                          None of it is a medical limit."
                .into(),
            organised_settings: Setting::ALL
                .iter()
                .copied()
                .filter(|setting| *setting != Setting::Free)
                .collect(),
            nothing_said: NothingSaid::AssumedRest,
            midnight: Midnight::StartDate,
            chronic_floor: Load::from_au(250),
            second_approver: SecondApprover::NotRequired,
            rules: rules(),
        }
    }
}

fn rules() -> Vec<Rule> {
    let rule = |code: RuleCode, hundredths: i32, source_note: &str| Rule {
        code,
        enabled: code.is_evaluated(),
        ratio_kind: (code == RuleCode::WeekEndRatio).then_some(RatioKind::Coupled),
        limit: Decimal::hundredths(hundredths),
        window: (code == RuleCode::OwnHighestWeek).then_some(8),
        source_note: source_note.into(),
    };
    vec![
        rule(
            RuleCode::WeekEndRatio,
            150,
            "Coupled form. Gabbett TJ (2016) Br J Sports Med 50(5):273-280; \
             value from memory, check before use. The ratio is disputed and predicts nothing.",
        ),
        rule(RuleCode::OwnHighestWeek, 110, "Common practice, no source."),
        rule(
            RuleCode::WeekMonotony,
            200,
            "Foster C (1998) Med Sci Sports Exerc 30(7):1164-1168 holds that limits are \
             individual; the value is common practice, no source.",
        ),
        rule(
            RuleCode::OrganisedHours,
            100,
            "National Athletic Trainers' Association, official statement, 16 October 2019: \
             hours a week not above age in years.",
        ),
        rule(
            RuleCode::FreeDays,
            100,
            "The club's choice. National Athletic Trainers' Association, official statement, \
             16 October 2019, asks for at least two days off a week.",
        ),
        rule(
            RuleCode::NeuromuscularDose,
            3000,
            "In at least two sessions a week, with at least three of five exercise categories. \
             Sugimoto D, et al. (2014) Sports Med 44(4):551-562; \
             value from memory, check before use.",
        ),
        rule(
            RuleCode::LandingContacts,
            10_000,
            "Handbook range for novices: NSCA, Essentials of Strength Training and Conditioning, \
             4th ed. (2016); value from memory, check before use.",
        ),
        rule(
            RuleCode::JumpGap,
            4800,
            "NSCA, Essentials of Strength Training and Conditioning, 4th ed. (2016); \
             value from memory, check before use.",
        ),
        rule(
            RuleCode::ReturnCeiling,
            100,
            "Weekly steps of 50, 70, 80, 90 and 100 % of the load before the absence, after \
             published reductions for transition periods; value from memory, check before use.",
        ),
    ]
}
