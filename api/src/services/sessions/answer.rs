//! A session report as it is answered.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;
use plimsoll_domain::{Minutes, MinutesFrom, Rpe};
use serde::Serialize;
use utoipa::ToSchema;

use super::draft::CHANGE_DAYS;
use super::input::SessionInput;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, SessionId};
use crate::services::schedule::standing::ReportStanding;
use crate::store::Private;
use crate::store::sessions::Session;

/// A stored session report: as given, and as it counts.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "session_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "version": 1, "source": "club-app",
    "external_id": "app-9912", "athlete_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b",
    "started_at": "2026-09-07T17:30:00+02:00", "minutes": 90, "rpe": 6.0, "setting": "club",
    "kind": "practice", "event_external_id": null, "basis": "whole_session",
    "given_at": "2026-09-07T17:25:00Z", "given_by": "athlete", "note": null, "reason": null,
    "load_date": "2026-09-07", "received_at": "2026-09-07T17:25:02Z",
    "counted": {"rpe": 6.0, "minutes": 90, "load_au": 540.0, "from": "report"},
    "can_change_until": "2026-09-21", "warnings": []}))]
pub struct SessionAnswer {
    /// Its id.
    pub session_id: SessionId,
    /// 1, 2, 3, …: each change is a new version; also the ETag.
    pub version: i32,
    /// The client that sent it.
    pub source: String,
    /// The sender's own id.
    pub external_id: Option<String>,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// Start, with the offset of the place.
    #[schema(format = DateTime)]
    pub started_at: String,
    /// Zone of the place, where it was named.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, required = false)]
    pub time_zone: Option<String>,
    /// Whole minutes.
    pub minutes: i32,
    /// Session RPE.
    pub rpe: f64,
    /// Who ran it.
    pub setting: &'static str,
    /// What it was.
    pub kind: &'static str,
    /// The scheduled event.
    pub event_external_id: Option<String>,
    /// What the minutes cover.
    pub basis: &'static str,
    /// When the rating was given.
    #[schema(value_type = String, format = DateTime)]
    pub given_at: Timestamp,
    /// Who gave it.
    pub given_by: &'static str,
    /// A note.
    pub note: Option<String>,
    /// Why it was entered or changed late.
    pub reason: Option<String>,
    /// The date its load belongs to: the date at the place where it was held.
    #[schema(value_type = String, format = Date)]
    pub load_date: Date,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// What counts.
    pub counted: CountedAs,
    /// Last date on which the athlete can change it; later it takes staff and a reason.
    #[schema(value_type = String, format = Date)]
    pub can_change_until: Date,
    /// What is odd about it; see /problems for each code.
    #[schema(value_type = Vec<String>, example = json!(["rpe_zero_with_minutes"]))]
    pub warnings: Vec<Code>,
}

/// What a report counts as.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CountedAs {
    /// Session RPE that counts.
    pub rpe: f64,
    /// Minutes that count.
    pub minutes: i32,
    /// RPE x minutes.
    #[schema(example = 540.0)]
    pub load_au: f64,
    /// Where the minutes come from: `report`, `schedule` or `attendance`. Reports of one session count
    /// once: each answers with what the session counts as.
    #[schema(value_type = String)]
    pub from: &'static str,
}

impl SessionAnswer {
    /// The answer for a stored version that stands so.
    pub fn new(
        session: &Session,
        version: i32,
        received_at: Timestamp,
        standing: &ReportStanding,
    ) -> Result<Self, Problem> {
        let rpe = rpe(session)?;
        Ok(Self {
            session_id: session.session_id,
            version,
            source: session.source.clone(),
            external_id: session.external_id.clone(),
            athlete_id: session.athlete_id,
            started_at: started_at(session)?,
            time_zone: session.time_zone.clone(),
            minutes: session.minutes,
            rpe: rpe.to_f64(),
            setting: session.setting.code(),
            kind: session.kind.code(),
            event_external_id: session.event_external_id.clone(),
            basis: session.basis.code(),
            given_at: session.given_at,
            given_by: session.given_by.code(),
            note: session.note.clone().map(Private::into_inner),
            reason: session.reason.clone().map(Private::into_inner),
            load_date: session.load_date,
            received_at,
            counted: CountedAs::new(rpe, standing),
            can_change_until: can_change_until(session.load_date),
            warnings: standing.warnings.clone(),
        })
    }
}

impl CountedAs {
    /// What the session counts as; nothing where a confirmed absence sets the report aside.
    fn new(given: Rpe, standing: &ReportStanding) -> Self {
        match standing.counted {
            Some(counted) => counted.into(),
            None => Self {
                rpe: given.to_f64(),
                minutes: 0,
                load_au: 0.0,
                from: MinutesFrom::Attendance.code(),
            },
        }
    }
}

impl From<plimsoll_domain::Counted> for CountedAs {
    fn from(counted: plimsoll_domain::Counted) -> Self {
        Self {
            rpe: counted.rpe.to_f64(),
            minutes: counted.minutes.get().into(),
            load_au: counted.load.point.to_au(),
            from: counted.from.code(),
        }
    }
}

/// The stored report in the form it could be sent in, for a merge patch.
pub fn as_input(session: &Session) -> Result<SessionInput, Problem> {
    let number = |value: f64| serde_json::Number::from_f64(value);
    Ok(SessionInput {
        external_id: session.external_id.clone(),
        athlete_id: Some(session.athlete_id.to_string()),
        athlete_external_id: None,
        started_at: Some(started_at(session)?),
        time_zone: session.time_zone.clone(),
        minutes: Some(session.minutes.into()),
        ended_at: None,
        rpe: number(rpe(session)?.to_f64()),
        setting: Some(session.setting.code().to_owned()),
        kind: Some(session.kind.code().to_owned()),
        event_external_id: session.event_external_id.clone(),
        basis: Some(session.basis.code().to_owned()),
        given_at: Some(session.given_at.to_string()),
        given_by: Some(session.given_by.code().to_owned()),
        note: session.note.clone().map(Private::into_inner),
        reason: None,
    })
}

/// The last date on which a report may be changed without staff and reason.
pub fn can_change_until(load_date: Date) -> Date {
    load_date.saturating_add(jiff::Span::new().days(CHANGE_DAYS))
}

/// The start as written at the place.
pub fn started_at(session: &Session) -> Result<String, Problem> {
    let offset = Offset::from_seconds(session.utc_offset_seconds)
        .map_err(|error| Problem::internal(&error))?;
    Ok(session.started_at.display_with_offset(offset).to_string())
}

/// The stored rating; one off the scale is a defect.
pub fn rpe(session: &Session) -> Result<Rpe, Problem> {
    let half = u8::try_from(session.rpe_half).map_err(|error| Problem::internal(&error))?;
    Rpe::from_half_steps(half).map_err(|error| Problem::internal(&error))
}

/// The stored minutes; a number outside 1 to 600 is a defect.
pub fn minutes(session: &Session) -> Result<Minutes, Problem> {
    Minutes::new(session.minutes.into()).map_err(|error| Problem::internal(&error))
}
