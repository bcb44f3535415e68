//! A consent as it is read.

use jiff::Timestamp;
use plimsoll_domain::consent::{DataClass, standing};
use serde::Serialize;
use utoipa::ToSchema;

use super::instants;
use crate::ids::{AthleteId, ClubId, ConsentId};
use crate::store::Private;
use crate::store::consents::Consent;
use crate::store::{ConsentGiver, ConsentRecipient, Versioned};

/// A consent, with who gave it and, where that happened, who withdrew it. Nothing of it is ever removed.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "consent_id": "0199a1b2-9191-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "given_by": "guardian", "given_at": "2026-09-01T16:20:00Z", "purpose": "decide on her return after an injury",
    "data_classes": ["tests"], "recipient_role": "athletic_trainer", "recipient_club_id": null,
    "from": "2026-09-01T16:20:00Z", "until": null,
    "text_version": "2026-1", "evidence": null, "withdrawn_at": null, "withdrawn_by": null,
    "withdrawal_evidence": null, "standing": "in_force", "version": 1}))]
pub struct ConsentAnswer {
    /// Its id.
    pub consent_id: ConsentId,
    /// Whose data it is about.
    pub athlete_id: AthleteId,
    /// guardian or athlete.
    #[schema(value_type = String)]
    pub given_by: &'static str,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub given_at: Timestamp,
    /// What for.
    pub purpose: String,
    /// To which classes of data.
    #[schema(value_type = Vec<String>)]
    pub data_classes: Vec<&'static str>,
    /// For whom in the club; null where it is for another club.
    #[schema(value_type = Option<String>)]
    pub recipient_role: Option<&'static str>,
    /// For which other club.
    pub recipient_club_id: Option<ClubId>,
    /// The first instant it is meant for.
    #[schema(value_type = String, format = DateTime)]
    pub from: Timestamp,
    /// The first instant it is no longer meant for; null where it goes on.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub until: Option<Timestamp>,
    /// Which version of the text was read.
    pub text_version: String,
    /// Where the signed form is kept.
    pub evidence: Option<String>,
    /// When it was withdrawn.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub withdrawn_at: Option<Timestamp>,
    /// guardian or athlete.
    #[schema(value_type = Option<String>)]
    pub withdrawn_by: Option<&'static str>,
    /// Where the signed withdrawal is kept.
    pub withdrawal_evidence: Option<String>,
    /// How it stands now: to_come, in_force, ended or withdrawn.
    #[schema(value_type = String)]
    pub standing: &'static str,
    /// 1, or 2 once it was withdrawn; also the ETag.
    pub version: i32,
}

impl ConsentAnswer {
    /// The answer at an instant.
    pub fn new(consent: Versioned<Consent>, now: Timestamp) -> Self {
        let Versioned { content, version } = consent;
        let classes = content.data_classes.0.iter();
        Self {
            standing: standing(&[instants(&content)], now).code(),
            consent_id: content.consent_id,
            athlete_id: content.athlete_id,
            given_by: content.given_by.code(),
            given_at: content.given_at,
            purpose: content.purpose.into_inner(),
            data_classes: classes.copied().map(DataClass::code).collect(),
            recipient_role: content.recipient_role.map(ConsentRecipient::code),
            recipient_club_id: content.recipient_club,
            from: content.from_at,
            until: content.until_at,
            text_version: content.text_version,
            evidence: content.evidence.map(Private::into_inner),
            withdrawn_at: content.withdrawn_at,
            withdrawn_by: content.withdrawn_by.map(ConsentGiver::code),
            withdrawal_evidence: content.withdrawal_evidence.map(Private::into_inner),
            version: version.number,
        }
    }
}
