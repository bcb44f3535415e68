//! An entry of the attendance list as it is sent.

use serde::Deserialize;
use serde_json::Number;
use utoipa::ToSchema;

/// What the list says of one athlete at one event.
///
/// Exactly one of `event_id` and `event_external_id`, and of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "event_external_id": "hall-3301", "athlete_external_id": "P-07", "status": "present",
    "minutes": 85}))]
pub struct AttendanceInput {
    /// The event, by our id.
    #[schema(format = Uuid)]
    pub event_id: Option<String>,
    /// The event, by the scheduling system's id.
    pub event_external_id: Option<String>,
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// present, partial, absent or unknown.
    #[schema(value_type = String)]
    pub status: Option<String>,
    /// Minutes she took part, where they were measured; at most 30 more than planned. They count
    /// before planned and before reported minutes.
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 600)]
    pub minutes: Option<Number>,
    /// For absent: confirmed by a coach who has seen that the athlete reports the session. It sets
    /// her report aside.
    pub confirmed: Option<bool>,
    /// Who said so: athlete, guardian or coach (assumed).
    pub given_by: Option<String>,
}
