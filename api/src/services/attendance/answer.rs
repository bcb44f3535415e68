//! An entry of the attendance list as it is answered.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::Code;
use crate::ids::{AthleteId, AttendanceId, EventId};
use crate::store::Versioned;
use crate::store::attendance::Attendance;

/// An entry of the list as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "attendance_id": "0199a1b2-5555-7e4f-8a5b-6c7d8e9f0a1b",
    "event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "status": "present", "minutes": 85,
    "confirmed": false, "given_by": "coach", "received_at": "2026-09-07T19:02:11Z", "version": 1,
    "warnings": []}))]
pub struct AttendanceAnswer {
    /// Its id.
    pub attendance_id: AttendanceId,
    /// The event.
    pub event_id: EventId,
    /// Whom it is about.
    pub athlete_id: AthleteId,
    /// present, partial, absent or unknown.
    #[schema(value_type = String)]
    pub status: &'static str,
    /// Minutes she took part.
    pub minutes: Option<i32>,
    /// Whether an absence was confirmed against her own report.
    pub confirmed: bool,
    /// Who said so.
    #[schema(value_type = String)]
    pub given_by: &'static str,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// What is odd about it, said when it is entered; see /problems for each code.
    #[schema(value_type = Vec<String>)]
    pub warnings: Vec<Code>,
}

impl From<Versioned<Attendance>> for AttendanceAnswer {
    fn from(entry: Versioned<Attendance>) -> Self {
        let Versioned { content, version } = entry;
        Self {
            attendance_id: content.attendance_id,
            event_id: content.event_id,
            athlete_id: content.athlete_id,
            status: content.status.code(),
            minutes: content.minutes,
            confirmed: content.confirmed,
            given_by: content.given_by.code(),
            received_at: version.received_at,
            version: version.number,
            warnings: Vec::new(),
        }
    }
}
