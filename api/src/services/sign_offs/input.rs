//! A sign-off as it is sent, and its checks.

use jiff::civil::Date;
use serde::Deserialize;
use utoipa::ToSchema;

use crate::auth::principal::Principal;
use crate::error::{Code, FieldProblem};
use crate::ids::{AthleteId, SignOffId};
use crate::services::fields::Faults;
use crate::services::test_results::past_date;
use crate::services::text;
use crate::store::sign_offs::SignOff;

/// Longest note, in characters.
const LONGEST_NOTE: usize = 280;

/// A technique signed off by who watched it: the token's subject, in its role.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"exercise": "squat", "signed_on": "2026-09-08", "seen_in_person": true, "note": "Heels stay down."}))]
pub struct SignOffInput {
    /// The code of the exercise; it stays as it is once signed off.
    #[schema(value_type = String)]
    exercise: Option<String>,
    /// The day it was watched, not after today.
    #[schema(value_type = String, format = Date)]
    signed_on: Option<String>,
    /// true: whoever signs off has watched the exercise herself. Nothing else is taken.
    #[schema(required = true)]
    seen_in_person: Option<bool>,
    /// What was seen, 1 to 280 characters. No health data.
    note: Option<String>,
}

impl SignOffInput {
    /// Checks each field; how it fits to the sign-offs before is not looked at here.
    pub(super) fn check(
        &self,
        (athlete_id, sign_off_id): (AthleteId, SignOffId),
        who: &Principal,
        today: Date,
        faults: &mut Faults,
    ) -> Option<SignOff> {
        let exercise = self.exercise.clone();
        let missing = || FieldProblem::missing("/exercise", "the code of an exercise");
        let exercise = faults.take(exercise.ok_or_else(missing));
        let signed_on = faults.take(past_date("/signed_on", self.signed_on.as_deref(), today));
        let seen = faults.take(seen_in_person(self.seen_in_person));
        let note = self.note.as_deref();
        let note = note.map(|note| text::note("/note", note, LONGEST_NOTE).map(|()| note));
        let note = faults.take(note.transpose());
        seen?;
        Some(SignOff {
            sign_off_id,
            athlete_id,
            exercise: exercise?,
            signed_on: signed_on?,
            watched_by: who.subject.clone(),
            watched_role: who.role.code().to_owned(),
            note: note?.map(|note| note.to_owned().into()),
            reason: None,
        })
    }
}

fn seen_in_person(given: Option<bool>) -> Result<(), FieldProblem> {
    const ALLOWED: &str = "true, of an exercise that you have watched yourself";
    match given {
        Some(true) => Ok(()),
        Some(false) => {
            let fault = FieldProblem::new("/seen_in_person", Code::NotSeenInPerson, false);
            Err(fault.allowed(ALLOWED))
        }
        None => Err(FieldProblem::missing("/seen_in_person", ALLOWED)),
    }
}
