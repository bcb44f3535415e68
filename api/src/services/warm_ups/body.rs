//! A warm-up as it is sent, and its checks.

use std::collections::BTreeSet;

use plimsoll_domain::Minutes;
use plimsoll_domain::neuromuscular::{ExerciseCategory, WarmUp, WarmUpMinutes};
use plimsoll_domain::programme::SessionWarmUp;
use serde::{Deserialize, Serialize};
use serde_json::{Number, Value};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};
use crate::web::object;

/// Most entries of a list of categories.
pub const MOST_CATEGORIES: usize = ExerciseCategory::ALL.len();
const MINUTES: &str = "whole number from 0 to 600";
const NOTHING: &str = "none where minutes is 0";

/// The neuromuscular warm-up of a session. 0 minutes say that it had none; then the rest is left out.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"minutes": 15, "categories": ["strength", "jump", "balance"], "feedback": true}))]
pub struct WarmUpBody {
    /// Its minutes, whole, 0 to 600 and not more than the session's; 0 where there is none.
    #[schema(required = true, value_type = i32, minimum = 0, maximum = 600)]
    pub minutes: Option<Number>,
    /// What it holds: strength, jump, agility, balance, flexibility. Of a programme's session those of its items, unless given.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        deserialize_with = "object::some_at_most::<MOST_CATEGORIES, _, _>"
    )]
    #[schema(value_type = Option<Vec<String>>, max_items = 5)]
    pub categories: Option<Vec<String>>,
    /// Whether feedback on technique is given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub feedback: Option<bool>,
}

impl WarmUpBody {
    /// Checks the warm-up of a single session of so many minutes, which says what it holds.
    pub fn check(&self, at: &str, session: Option<Minutes>, faults: &mut Faults) -> Option<WarmUp> {
        let planned = self.of_session(at, session, faults)?;
        if planned.categories().is_none() && planned.minutes().get() > 0 {
            let missing = FieldProblem::missing(format!("{at}/categories"), codes());
            faults.extend([missing]);
            return None;
        }
        let categories = planned.categories().cloned().unwrap_or_default();
        WarmUp::new(planned.minutes(), categories, planned.feedback()).ok()
    }

    fn planned(&self, at: &str, faults: &mut Faults) -> Option<SessionWarmUp> {
        let pointer = format!("{at}/minutes");
        let minutes = self.minutes.as_ref();
        let minutes = fields::whole_of(&pointer, minutes, MINUTES, WarmUpMinutes::new);
        let minutes = faults.take(minutes);
        let categories = self.categories.as_deref();
        let categories = categories.map(|given| read(at, given, faults));
        let (minutes, categories) = (
            minutes?,
            categories.map_or(Some(None), |one| one.map(Some))?,
        );
        let feedback = match self.feedback {
            None if minutes.get() > 0 => {
                let missing = FieldProblem::missing(format!("{at}/feedback"), "true or false");
                faults.extend([missing]);
                return None;
            }
            given => given.unwrap_or(false),
        };
        let made = SessionWarmUp::new(minutes, categories, feedback);
        faults.take(made.map_err(|_| {
            let (field, given) = match feedback {
                true => ("feedback", Value::from(true)),
                false => ("categories", Value::from(self.categories.clone())),
            };
            FieldProblem::new(format!("{at}/{field}"), Code::OutOfRange, given).allowed(NOTHING)
        }))
    }

    /// Checks the warm-up of a programme's session of so many minutes, where that is said.
    pub fn of_session(
        &self,
        at: &str,
        session: Option<Minutes>,
        faults: &mut Faults,
    ) -> Option<SessionWarmUp> {
        let planned = self.planned(at, faults)?;
        faults.take(within(at, planned.minutes(), session))?;
        Some(planned)
    }

    /// One as it was sent.
    pub fn of(planned: &SessionWarmUp) -> Self {
        let categories = planned.categories().map(|all| {
            let codes = all.iter().map(|one| one.code().to_owned());
            codes.collect()
        });
        Self {
            minutes: Some(planned.minutes().get().into()),
            categories,
            feedback: Some(planned.feedback()),
        }
    }
}

/// A warm-up is a part of its session.
fn within(at: &str, minutes: WarmUpMinutes, session: Option<Minutes>) -> Result<(), FieldProblem> {
    match session {
        Some(session) if minutes.get() > session.get() => {
            let fault = FieldProblem::new(format!("{at}/minutes"), Code::OutOfRange, minutes.get());
            Err(fault.allowed(format!(
                "at most the {} minutes of the session",
                session.get()
            )))
        }
        _ => Ok(()),
    }
}

fn codes() -> String {
    fields::list(ExerciseCategory::ALL.iter().map(|one| one.code()))
}

fn read(at: &str, given: &[String], faults: &mut Faults) -> Option<BTreeSet<ExerciseCategory>> {
    if given.len() > MOST_CATEGORIES {
        let pointer = format!("{at}/categories");
        let many = FieldProblem::new(pointer, Code::OutOfRange, given.len());
        faults.extend([many.allowed(format!("at most {MOST_CATEGORIES}"))]);
        return None;
    }
    let each = given.iter().enumerate().map(|(place, text)| {
        let pointer = format!("{at}/categories/{place}");
        let read = fields::coded(&pointer, Some(text), ExerciseCategory::parse, codes);
        faults.take(read)
    });
    each.collect::<Vec<_>>().into_iter().collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn faults_of(body: &Value) -> Vec<String> {
        let body: WarmUpBody = serde_json::from_value(body.clone()).unwrap();
        let mut faults = Faults::default();
        let checked = body.check("/warm_up", Minutes::new(90).ok(), &mut faults);
        let faults = faults.into_vec();
        assert_eq!(checked.is_none(), !faults.is_empty(), "{body:?}");
        let told = faults.iter();
        told.map(|fault| format!("{} {}", fault.pointer, fault.code.code()))
            .collect()
    }

    #[test]
    fn what_is_wrong_is_named() {
        for (body, expected) in [
            (json!({}), vec!["/warm_up/minutes missing_field"]),
            (
                json!({"minutes": 601}),
                vec!["/warm_up/minutes out_of_range"],
            ),
            (
                json!({"minutes": 15, "categories": []}),
                vec!["/warm_up/feedback missing_field"],
            ),
            (
                json!({"minutes": 15, "feedback": true}),
                vec!["/warm_up/categories missing_field"],
            ),
            (
                json!({"minutes": 15, "categories": ["jump", "jumps"], "feedback": true}),
                vec!["/warm_up/categories/1 unknown_value"],
            ),
            (
                json!({"minutes": 0, "feedback": true}),
                vec!["/warm_up/feedback out_of_range"],
            ),
            (
                json!({"minutes": 0, "categories": ["jump"]}),
                vec!["/warm_up/categories out_of_range"],
            ),
            (
                json!({"minutes": 91, "categories": [], "feedback": true}),
                vec!["/warm_up/minutes out_of_range"],
            ),
            (json!({"minutes": 0}), vec![]),
            (
                json!({"minutes": 15, "categories": [], "feedback": false}),
                vec![],
            ),
        ] {
            assert_eq!(faults_of(&body), expected, "{body}");
        }
    }
}
