//! What the events of a calendar stand for: rules as they are sent, and checked.

use plimsoll_domain::{Kind, Rpe, Setting};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use crate::calendar::mapping::{Condition, Mapping, MappingRule};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::SquadId;
use crate::services::fields::{self, Faults};
use crate::services::sessions::input::{codes_of_kind, codes_of_setting};

/// Most rules of one calendar.
pub const MOST_RULES: usize = 200;
/// Most squads of one rule.
pub const MOST_SQUADS: usize = 100;

/// What the events that meet a condition stand for.
///
/// Exactly one of `text_contains` and `category_is` is the condition, judged without regard to case. Either
/// `not_a_session` is true, or setting, kind and squads are there.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "text_contains": "U16 practice", "setting": "club", "kind": "practice",
    "squads": ["0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"], "intended_rpe": 6}))]
pub struct CalendarRule {
    /// Summary, description or place contains this text, 1 to 200 characters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 200)]
    pub text_contains: Option<String>,
    /// One of the categories is this, 1 to 200 characters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 200)]
    pub category_is: Option<String>,
    /// Whether such events are no sessions at all, as a meeting of parents.
    #[serde(default, skip_serializing_if = "is_false")]
    pub not_a_session: bool,
    /// Who runs them: club, school_team, pe, second_club, prescribed_home, private, free.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setting: Option<String>,
    /// What is done: practice, game, strength, conditioning, rehabilitation, other.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// Squads invited: their members on the event's date.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub squads: Vec<SquadId>,
    /// How hard they are meant to be: session RPE, 0 to 10 in steps of 0.5.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<f64>, minimum = 0, maximum = 10, multiple_of = 0.5)]
    pub intended_rpe: Option<Number>,
    /// Whether they can be neither moved nor shortened, as games.
    #[serde(default, skip_serializing_if = "is_false")]
    pub fixed: bool,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the form that serde calls"
)]
fn is_false(value: &bool) -> bool {
    !value
}

/// What an event stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Stands {
    /// For nothing that makes a load.
    NotASession,
    /// For a planned session.
    Session(Planned),
}

/// What a rule says of a planned session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Planned {
    pub(super) setting: Setting,
    pub(super) kind: Kind,
    pub(super) squads: Vec<SquadId>,
    pub(super) intended_rpe: Option<Rpe>,
    pub(super) fixed: bool,
}

/// Checks rules, and gives every fault. `squads` are those of the club.
pub(super) fn check(rules: &[CalendarRule], squads: &[SquadId], faults: &mut Faults) {
    if rules.len() > MOST_RULES {
        let many = FieldProblem::new("/rules", Code::OutOfRange, rules.len());
        return faults.extend([many.allowed(format!("at most {MOST_RULES}"))]);
    }
    for (at, rule) in rules.iter().enumerate() {
        let mut of_rule = Faults::default();
        let _ = read(rule, &mut of_rule);
        let unknown = |(at, squad): (usize, &SquadId)| {
            let pointer = format!("/squads/{at}");
            FieldProblem::new(pointer, Code::UnknownSquad, squad.to_string())
                .allowed("a squad of this club")
        };
        let named = rule.squads.iter().enumerate();
        of_rule.extend(
            named
                .filter(|(_, squad)| !squads.contains(squad))
                .map(unknown),
        );
        let prefix = format!("/rules/{at}");
        let of_rule = of_rule.into_vec().into_iter();
        faults.extend(of_rule.map(|fault| fault.under(&prefix)));
    }
}

/// The mapping of rules that were checked before they were stored.
pub(super) fn mapping(rules: &[CalendarRule]) -> Result<Mapping<Stands>, Problem> {
    let read = |rule| {
        let mut faults = Faults::default();
        let made = read(rule, &mut faults);
        faults.settle(made)
    };
    let rules = rules.iter().map(read);
    rules.collect::<Result<_, _>>().map(Mapping)
}

fn read(rule: &CalendarRule, faults: &mut Faults) -> Option<MappingRule<Stands>> {
    let when = faults.take(condition(rule));
    let gives = if rule.not_a_session {
        Some(Stands::NotASession)
    } else {
        planned(rule, faults).map(Stands::Session)
    };
    Some(MappingRule {
        when: when?,
        gives: gives?,
    })
}

fn condition(rule: &CalendarRule) -> Result<Condition, FieldProblem> {
    let line = |pointer, text: &String| fields::line(pointer, Some(text));
    match (&rule.text_contains, &rule.category_is) {
        (Some(text), None) => Ok(Condition::TextContains(line("/text_contains", text)?)),
        (None, Some(text)) => Ok(Condition::CategoryIs(line("/category_is", text)?)),
        (Some(_), Some(text)) => {
            Err(
                FieldProblem::new("/category_is", Code::UnknownValue, text.as_str())
                    .allowed("nothing beside text_contains"),
            )
        }
        (None, None) => Err(FieldProblem::missing(
            "/text_contains",
            "text_contains or category_is",
        )),
    }
}

fn planned(rule: &CalendarRule, faults: &mut Faults) -> Option<Planned> {
    let (setting, kind) = (rule.setting.as_deref(), rule.kind.as_deref());
    let setting = fields::coded("/setting", setting, Setting::parse, codes_of_setting);
    let setting = faults.take(setting);
    let kind = faults.take(fields::coded("/kind", kind, Kind::parse, codes_of_kind));
    let intended_rpe = rule.intended_rpe.as_ref();
    let intended_rpe = intended_rpe.map(|given| fields::rpe("/intended_rpe", Some(given)));
    let intended_rpe = faults.take(intended_rpe.transpose());
    let number = rule.squads.len();
    if number == 0 {
        faults.extend([FieldProblem::missing("/squads", "one squad or more")]);
    } else if number > MOST_SQUADS {
        let many = FieldProblem::new("/squads", Code::OutOfRange, number);
        faults.extend([many.allowed(format!("at most {MOST_SQUADS}"))]);
    }
    let mut squads = rule.squads.clone();
    squads.sort_unstable();
    squads.dedup();
    Some(Planned {
        setting: setting?,
        kind: kind?,
        squads,
        intended_rpe: intended_rpe?,
        fixed: rule.fixed,
    })
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    fn practice() -> CalendarRule {
        CalendarRule {
            text_contains: Some("practice".to_owned()),
            setting: Some("club".to_owned()),
            kind: Some("practice".to_owned()),
            squads: vec![Uuid::nil().into()],
            ..CalendarRule::default()
        }
    }

    fn faults_of(rules: &[CalendarRule]) -> Vec<(String, Code)> {
        let mut faults = Faults::default();
        check(rules, &[Uuid::nil().into()], &mut faults);
        let faults = faults.into_vec().into_iter();
        faults.map(|fault| (fault.pointer, fault.code)).collect()
    }

    #[test]
    fn a_rule_has_one_condition_and_stands_for_something() {
        let meeting = CalendarRule {
            category_is: Some("Meeting".to_owned()),
            not_a_session: true,
            ..CalendarRule::default()
        };
        assert_eq!(faults_of(&[practice(), meeting]), []);
        let both = CalendarRule {
            category_is: Some("Practice".to_owned()),
            ..practice()
        };
        let unsaid = CalendarRule {
            text_contains: Some("practice".to_owned()),
            squads: vec![Uuid::max().into()],
            ..CalendarRule::default()
        };
        let found = faults_of(&[both, unsaid, CalendarRule::default()]);
        let expected = [
            ("/rules/0/category_is", Code::UnknownValue),
            ("/rules/1/setting", Code::MissingField),
            ("/rules/1/kind", Code::MissingField),
            ("/rules/1/squads/0", Code::UnknownSquad),
            ("/rules/2/text_contains", Code::MissingField),
            ("/rules/2/setting", Code::MissingField),
            ("/rules/2/kind", Code::MissingField),
            ("/rules/2/squads", Code::MissingField),
        ];
        assert_eq!(found, expected.map(|(at, code)| (at.to_owned(), code)));
    }

    #[test]
    fn a_rule_stays_what_it_was_in_the_database() {
        let rule = CalendarRule {
            intended_rpe: Number::from_f64(6.5),
            fixed: true,
            ..practice()
        };
        let stored = serde_json::to_value([&rule]).unwrap();
        let read: Vec<CalendarRule> = serde_json::from_value(stored).unwrap();
        assert_eq!(read, [rule]);
    }
}
