//! A question and a reply as they are sent, and their checks.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::about::AboutBody;
use crate::error::{FieldProblem, Problem};
use crate::services::fields::Faults;
use crate::services::text;
use crate::store::questions::Question;

/// Longest text of a question and of a reply, in characters.
pub const LONGEST_TEXT: usize = 1_000;

/// A question about a session or an item of a programme.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"text": "Do I do both legs before I rest?", "hurts": false,
    "about": {"assignment_id": "0199a1b2-9e9e-7e4f-8a5b-6c7d8e9f0a1b", "date": "2026-11-10", "session": 1, "item": 2}}))]
pub struct QuestionInput {
    /// What is asked, 1 to 1000 characters.
    #[schema(value_type = String)]
    pub text: Option<String>,
    /// true where something hurts; false unless given.
    pub hurts: Option<bool>,
    /// What it is about.
    #[schema(value_type = AboutBody)]
    pub about: Option<AboutBody>,
}

/// What a coach says, and whether the question still waits for somebody.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reply": "Both legs, then rest."}))]
pub struct ReplyInput {
    /// What is answered, 1 to 1000 characters. A new one closes the question.
    pub reply: Option<String>,
    /// false closes the question without a reply, true opens it again.
    pub is_open: Option<bool>,
}

impl QuestionInput {
    /// The text, checked.
    pub(super) fn checked_text(&self, faults: &mut Faults) -> Option<String> {
        let missing = || FieldProblem::missing("/text", format!("1 to {LONGEST_TEXT} characters"));
        let text = faults.take(self.text.as_deref().ok_or_else(missing))?;
        faults.take(text::note("/text", text, LONGEST_TEXT))?;
        Some(text.to_owned())
    }
}

impl ReplyInput {
    /// As a question stands.
    pub fn of(question: &Question) -> Self {
        Self {
            reply: question
                .reply
                .clone()
                .map(crate::store::Private::into_inner),
            is_open: Some(question.is_open),
        }
    }

    /// The question as it is to be.
    pub(super) fn checked(&self, before: &Question) -> Result<Question, Problem> {
        if let Some(reply) = &self.reply {
            text::note("/reply", reply, LONGEST_TEXT).map_err(Problem::field)?;
        }
        let reply = self.reply.clone().map(Into::into);
        let is_new = reply.is_some() && reply != before.reply;
        let is_open = self.is_open.unwrap_or(before.is_open) && !is_new;
        Ok(Question {
            reply,
            is_open,
            ..before.clone()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Code;

    fn question(reply: Option<&str>, is_open: bool) -> Question {
        let nobody = uuid::Uuid::nil();
        Question {
            question_id: nobody.into(),
            athlete_id: nobody.into(),
            about: serde_json::json!({}),
            hurts: false,
            asked_by: "athlete".to_owned(),
            asked_at: jiff::Timestamp::UNIX_EPOCH,
            is_open,
            text: "Both legs?".to_owned().into(),
            reply: reply.map(|reply| reply.to_owned().into()),
        }
    }

    /// Whether a question is open, and answered, after a reply.
    fn after(before: &Question, reply: Option<&str>, is_open: Option<bool>) -> (bool, bool) {
        let reply = reply.map(str::to_owned);
        let after = ReplyInput { reply, is_open }.checked(before).unwrap();
        (after.is_open, after.reply.is_some())
    }

    #[test]
    fn a_new_reply_closes_a_question_and_it_can_be_opened_again() {
        let asked = question(None, true);
        assert_eq!(after(&asked, Some("Both."), Some(true)), (false, true));
        assert_eq!(after(&asked, None, Some(false)), (false, false));
        assert_eq!(after(&asked, None, None), (true, false));
        let answered = question(Some("Both."), false);
        assert_eq!(after(&answered, Some("Both."), Some(true)), (true, true));
        assert_eq!(after(&answered, Some("Left."), Some(true)), (false, true));
    }

    #[test]
    fn texts_have_a_length() {
        let long = "x".repeat(LONGEST_TEXT + 1);
        for (text, code) in [(" ", Code::TextEmpty), (long.as_str(), Code::TextTooLong)] {
            let mut faults = Faults::default();
            let input = QuestionInput {
                text: Some(text.to_owned()),
                ..QuestionInput::default()
            };
            assert_eq!(input.checked_text(&mut faults), None);
            assert_eq!(faults.into_vec()[0].code, code);
            let reply = ReplyInput {
                reply: Some(text.to_owned()),
                is_open: None,
            };
            let refused = reply.checked(&question(None, true)).unwrap_err();
            assert_eq!(refused.errors[0].code, code);
        }
    }
}
