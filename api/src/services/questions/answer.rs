//! A question as it is answered.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::about::About;
use super::beside::Beside;
use crate::error::Problem;
use crate::ids::{AthleteId, QuestionId};
use crate::store::questions::Question;
use crate::store::{Private, Versioned};

/// Said with every question and every answer. Common practice, no source.
pub const NOTE: &str = "This is not an emergency channel: nobody is called, and nobody may read it today. Where something hurts, stop, and \
    tell an adult who is there. After a knock to the head, with fainting, breathlessness out of proportion, heat illness or swelling, \
    training ends and a clinician is asked under local rules; in an emergency call the local emergency number.";

/// A question and what was answered. The service passes it on and says nothing to it.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"question_id": "0199a1b2-5555-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "about": {"session_id": "0199a1b2-7777-7e4f-8a5b-6c7d8e9f0a1b", "event_id": null, "assignment_id": null, "date": null, "session": null,
        "item": null, "exercise": null}, "text": "Was that too long?", "hurts": false, "asked_by": "athlete",
    "asked_at": "2026-11-09T18:00:00Z", "is_open": true, "reply": null, "received_at": "2026-11-09T18:00:00Z", "version": 1,
    "note": "This is not an emergency channel: …", "beside": null}))]
pub struct QuestionAnswer {
    /// Its id.
    pub question_id: QuestionId,
    /// Whose record it is about.
    pub athlete_id: AthleteId,
    /// What it is about.
    pub about: About,
    /// What was asked.
    pub text: String,
    /// Whether something hurts.
    pub hurts: bool,
    /// In which role it was asked: athlete or guardian.
    pub asked_by: String,
    /// When it was asked.
    #[schema(value_type = String, format = DateTime)]
    pub asked_at: Timestamp,
    /// Whether it waits for somebody.
    pub is_open: bool,
    /// What was answered; null while nothing is.
    pub reply: Option<String>,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// What this is not, and what to do.
    pub note: &'static str,
    /// What staff read with one question; null in lists, and for the family.
    pub beside: Option<Beside>,
}

impl QuestionAnswer {
    /// Of a question as it is stored.
    pub fn of(stored: Versioned<Question>) -> Result<Self, Problem> {
        let Versioned { content, version } = stored;
        let about = About::deserialize(&content.about);
        Ok(Self {
            question_id: content.question_id,
            athlete_id: content.athlete_id,
            about: about.map_err(|error| Problem::internal(&error))?,
            text: content.text.into_inner(),
            hurts: content.hurts,
            asked_by: content.asked_by,
            asked_at: content.asked_at,
            is_open: content.is_open,
            reply: content.reply.map(Private::into_inner),
            received_at: version.received_at,
            version: version.number,
            note: NOTE,
            beside: None,
        })
    }
}
