//! Techniques signed off, as a history tells them.

use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::Problem;
use crate::services::history::History;
use crate::services::sign_offs;

/// A technique that somebody watched and signed off. It clears nobody.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"exercise": "Squat", "signed_on": "2026-09-08", "by_role": "coach", "state": "standing",
    "next": "Split squat; Squat with a load"}))]
pub struct SignedOff {
    /// The name of the exercise.
    pub exercise: String,
    /// The day it was watched.
    #[schema(value_type = String, format = Date)]
    pub signed_on: Date,
    /// In which role it was watched.
    pub by_role: String,
    /// standing, withdrawn, or step_before_missing where what it builds on no longer stands.
    #[schema(value_type = String)]
    pub state: &'static str,
    /// The names of what may be signed off next, having built on it; null where nothing may.
    pub next: Option<String>,
}

impl SignedOff {
    /// All of a history, by day.
    pub(super) fn all(history: &History) -> Result<Vec<Self>, Problem> {
        let all = &history.sign_offs;
        let progress = all.progress();
        let told = all.all.iter().map(|one| {
            let exercise = &one.content.exercise;
            let next = sign_offs::next_after(one, &progress).into_iter();
            let names: Vec<&str> = next.map(|next| next.name.as_str()).collect();
            Ok(Self {
                exercise: all.catalogue.name(exercise)?,
                signed_on: one.content.signed_on,
                by_role: one.content.watched_role.clone(),
                state: sign_offs::state(one, &progress).code(),
                next: (!names.is_empty()).then(|| names.join("; ")),
            })
        });
        told.collect()
    }
}
