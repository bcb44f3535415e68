//! A sign-off as it is answered.

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::exercises::Progress;
use serde::Serialize;
use utoipa::ToSchema;

use super::SignOffs;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, SignOffId};
use crate::store::sign_offs::SignOff;
use crate::store::{Private, Versioned};

/// How a sign-off stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignOffState {
    /// It stands.
    Standing,
    /// It was withdrawn.
    Withdrawn,
    /// What it builds on was withdrawn, or the exercise was changed or removed: it leads on to nothing.
    StepBeforeMissing,
}

impl SignOffState {
    /// The code.
    pub const fn code(self) -> &'static str {
        match self {
            SignOffState::Standing => "standing",
            SignOffState::Withdrawn => "withdrawn",
            SignOffState::StepBeforeMissing => "step_before_missing",
        }
    }
}

/// A technique that somebody watched and signed off. It clears nobody.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "sign_off_id": "0199a1b2-abab-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "exercise": "squat", "name": "Squat", "signed_on": "2026-09-08", "seen_in_person": true, "by_role": "coach", "by_subject": "coach-3",
    "note": "Heels stay down.", "state": "standing", "withdrawn": null,
    "next": ["split_squat", "squat_loaded", "step_off_landing_both_feet"], "received_at": "2026-09-08T19:02:11Z", "version": 1}))]
pub struct SignOffAnswer {
    /// Its id.
    pub sign_off_id: SignOffId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The code of the exercise.
    pub exercise: String,
    /// Its name.
    pub name: String,
    /// The day it was watched.
    #[schema(value_type = String, format = Date)]
    pub signed_on: Date,
    /// Always true: nothing else is taken.
    pub seen_in_person: bool,
    /// In which role it was watched.
    pub by_role: String,
    /// The subject of the token of who watched; to staff only.
    pub by_subject: Option<String>,
    /// What was seen.
    pub note: Option<String>,
    /// standing, withdrawn, or step_before_missing where what it builds on no longer stands.
    #[schema(value_type = String)]
    pub state: &'static str,
    /// When and why it was withdrawn; null while it was not.
    pub withdrawn: Option<Withdrawn>,
    /// Codes of what may be signed off next, having built on this.
    pub next: Vec<String>,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// How a sign-off was withdrawn.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"at": "2026-10-01T18:30:00Z", "by_role": "strength_coach", "reason": "The knee falls inwards again."}))]
pub struct Withdrawn {
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// In which role.
    pub by_role: String,
    /// Why.
    pub reason: Option<String>,
}

impl SignOffAnswer {
    /// A stored sign-off among the others of the athlete.
    pub(super) fn new(
        stored: &Versioned<SignOff>,
        all: &SignOffs,
        progress: &Progress<'_>,
        caller: &Caller,
    ) -> Result<Self, Problem> {
        let Versioned { content, version } = stored;
        let text =
            |private: &Option<Private<String>>| private.as_ref().map(|text| text.to_string());
        let next = super::next_after(stored, progress).into_iter();
        Ok(Self {
            sign_off_id: content.sign_off_id,
            athlete_id: content.athlete_id,
            exercise: content.exercise.clone(),
            name: all.catalogue.name(&content.exercise)?,
            signed_on: content.signed_on,
            seen_in_person: true,
            by_role: content.watched_role.clone(),
            by_subject: caller.is_staff().then(|| content.watched_by.clone()),
            note: text(&content.note),
            state: super::state(stored, progress).code(),
            withdrawn: version.deleted.then(|| Withdrawn {
                at: version.received_at,
                by_role: version.acting_role.clone(),
                reason: text(&content.reason),
            }),
            next: next.map(|next| next.code.to_string()).collect(),
            received_at: version.received_at,
            version: version.number,
        })
    }
}
