//! A flag as it is answered.

use jiff::Timestamp;
use plimsoll_domain::IsoWeek;
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use crate::error::Problem;
use crate::ids::{AcknowledgementId, AthleteId, FlagId, SquadId};
use crate::store::flags::{Acknowledgement, FlagVersion, Judged};
use crate::store::{FlagState, Private};
use crate::web::finding::JudgedFigures;

/// A flag: one athlete, rule and ISO week.
#[derive(Debug, Serialize, ToSchema)]
pub struct FlagAnswer {
    /// Its id.
    pub flag_id: FlagId,
    /// Whose week.
    pub athlete_id: AthleteId,
    /// The rule.
    #[schema(example = "week_end_ratio")]
    pub rule: String,
    /// The week.
    #[schema(example = "2026-W45")]
    pub week: String,
    /// `open`, `acknowledged` (in its current version) or `withdrawn` (the data changed).
    #[schema(value_type = String, example = "open")]
    pub state: &'static str,
    /// How it was judged last.
    pub current: Judgement,
    /// What was done about it, in order.
    pub acknowledgements: Vec<AcknowledgementAnswer>,
    /// Every judgement, the first one first; only where one flag is read.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Vec<Judgement>, required = false)]
    pub versions: Option<Vec<Judgement>>,
}

/// One judgement of a flag; earlier ones are never deleted.
#[derive(Debug, Serialize, ToSchema)]
pub struct Judgement {
    /// 1, 2, 3, …
    pub version: i32,
    /// raised or withdrawn.
    #[schema(value_type = String, example = "raised")]
    pub state: &'static str,
    /// certain, possible or not_computable.
    #[schema(value_type = String, example = "certain")]
    pub certainty: &'static str,
    /// The policy it was judged by.
    pub policy_version: i32,
    /// Why it was judged: week_closed, data_changed or policy_changed.
    #[schema(example = "week_closed")]
    pub cause: String,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub judged_at: Timestamp,
    /// The figures it was judged on.
    #[schema(value_type = JudgedFigures)]
    pub figures: Value,
}

/// What somebody did about a flag.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"acknowledgement_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "action": "talked", "note": null, "squad_id": null, "version": 1, "by": "coach-3",
    "role": "coach", "at": "2026-11-09T06:10:00Z"}))]
pub struct AcknowledgementAnswer {
    /// Its id.
    pub acknowledgement_id: AcknowledgementId,
    /// talked, reduced, moved, rested, no_change or other.
    pub action: String,
    /// A note.
    pub note: Option<String>,
    /// For which squad.
    pub squad_id: Option<SquadId>,
    /// The version of the flag that was seen.
    pub version: i32,
    /// Who.
    pub by: String,
    /// In which role.
    pub role: String,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
}

impl FlagAnswer {
    /// The answer for a flag with its acknowledgements.
    pub fn new(judged: Judged, acknowledgements: &[Acknowledgement]) -> Result<Self, Problem> {
        let Judged { flag, version } = judged;
        let week = IsoWeek::of(flag.monday).map_err(|error| Problem::internal(&error))?;
        let own = acknowledgements
            .iter()
            .filter(|one| one.flag_id == flag.flag_id);
        let acknowledged = own.clone().any(|one| one.flag_version == version.version);
        let state = match (version.state, acknowledged) {
            (FlagState::Withdrawn, _) => "withdrawn",
            (FlagState::Raised, true) => "acknowledged",
            (FlagState::Raised, false) => "open",
        };
        Ok(Self {
            flag_id: flag.flag_id,
            athlete_id: flag.athlete_id,
            rule: flag.rule,
            week: week.to_string(),
            state,
            acknowledgements: own.cloned().map(AcknowledgementAnswer::from).collect(),
            current: version.into(),
            versions: None,
        })
    }
}

impl From<FlagVersion> for Judgement {
    fn from(version: FlagVersion) -> Self {
        Self {
            version: version.version,
            state: version.state.code(),
            certainty: version.certainty.code(),
            policy_version: version.policy_version,
            cause: version.cause,
            judged_at: version.received_at,
            figures: version.body,
        }
    }
}

impl From<Acknowledgement> for AcknowledgementAnswer {
    fn from(one: Acknowledgement) -> Self {
        Self {
            acknowledgement_id: one.acknowledgement_id,
            action: one.action,
            note: one.note.map(Private::into_inner),
            squad_id: one.squad_id,
            version: one.flag_version,
            by: one.by_subject,
            role: one.acting_role,
            at: one.received_at,
        }
    }
}
