//! A session report as it is sent.

use plimsoll_domain::{Basis, Kind, Setting};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use crate::services::fields::list;
use crate::services::people::Naming;

/// A session report: who, when, how long, how hard.
///
/// Exactly one of `athlete_id` and `athlete_external_id`, and one of `minutes` and `ended_at`.
/// `(source, external_id)` is the natural key, the source being the token's client: the same content
/// again is `unchanged`, other content is a new version. Without `external_id` a report is known by
/// athlete, start, setting and kind.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "external_id": "app-9912", "athlete_external_id": "P-07",
    "started_at": "2026-09-07T17:30:00+02:00", "minutes": 90, "rpe": 6,
    "setting": "club", "kind": "practice", "basis": "whole_session",
    "given_at": "2026-09-07T19:25:00+02:00", "given_by": "athlete"}))]
pub struct SessionInput {
    /// The sender's own id of the report, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub external_id: Option<String>,
    /// The athlete, by our id.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub athlete_external_id: Option<String>,
    /// Start: RFC 3339 with the offset of the place; or a local time with `time_zone`.
    #[schema(value_type = String)]
    pub started_at: Option<String>,
    /// IANA zone of the place, for a local time or one that ends in Z.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_zone: Option<String>,
    /// Whole minutes, 1 to 600.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 600)]
    pub minutes: Option<Number>,
    /// End, instead of minutes; rounded to the nearest minute.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<String>,
    /// Session RPE, 0 to 10 in steps of 0.5: how hard the whole session was.
    #[schema(required = true, value_type = f64, minimum = 0, maximum = 10, multiple_of = 0.5)]
    pub rpe: Option<Number>,
    /// Who ran it: club, school_team, pe, second_club, prescribed_home, private, free.
    #[schema(value_type = String)]
    pub setting: Option<String>,
    /// What it was: practice, game, strength, conditioning, rehabilitation, other.
    #[schema(value_type = String)]
    pub kind: Option<String>,
    /// The scheduled event it belongs to, by the scheduling system's id.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub event_external_id: Option<String>,
    /// What the minutes cover: whole_session (assumed) or took_part.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<String>,
    /// When the rating was given; assumed to be now.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub given_at: Option<String>,
    /// Who gave it: athlete, guardian or coach; assumed from the acting role.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub given_by: Option<String>,
    /// At most 280 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Why it is entered or changed more than 14 days after the session.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

impl SessionInput {
    /// How it names the athlete.
    pub fn naming(&self) -> Naming<'_> {
        Naming {
            athlete_id: self.athlete_id.as_deref(),
            athlete_external_id: self.athlete_external_id.as_deref(),
        }
    }
}

/// The texts a coded field takes, for the `allowed` of a refusal.
pub fn codes_of_setting() -> String {
    list(Setting::ALL.iter().map(|value| value.code()))
}

/// As [`codes_of_setting`], of kinds.
pub fn codes_of_kind() -> String {
    list(Kind::ALL.iter().map(|value| value.code()))
}

/// As [`codes_of_setting`], of bases.
pub fn codes_of_basis() -> String {
    list(Basis::ALL.iter().map(|value| value.code()))
}
