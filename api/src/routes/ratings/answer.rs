//! An athlete's ratings, as they are sent.

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{Places, Reason, Root, Rpe, rating};
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::Problem;
use crate::ids::{AthleteId, EventId, SessionId};
use crate::services::rated_sessions::RatedSession;
use crate::services::sessions::answer::started_at;

/// What an athlete rated, and how far that lies from what was intended.
#[derive(Debug, Serialize, ToSchema)]
pub struct RatingsAnswer {
    /// Whose.
    pub athlete_id: AthleteId,
    /// First date asked for.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last date asked for.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// How many of her sessions she rated.
    pub ratings: usize,
    /// How many different ratings she gave.
    pub distinct_ratings: usize,
    /// Their mean, in points of the scale; null of none.
    #[schema(example = 5.9167)]
    pub mean_rpe: Option<f64>,
    /// Their standard deviation, divisor n-1; null of fewer than two.
    #[schema(example = 1.6765)]
    pub standard_deviation_rpe: Option<f64>,
    /// How far they lie from what was intended.
    pub gap: RatingGap,
    /// How many were given before the session was over.
    pub given_early: usize,
    /// Habits that leave little information: same_rating, before_end, one_sitting; to staff only.
    #[schema(value_type = Vec<String>)]
    pub habits: Vec<&'static str>,
    /// The same in words, said kindly; null without any, and to the family.
    pub rating_note: Option<String>,
    /// Said where she is below about twelve years.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// The sessions that she rated, by start.
    pub sessions: Vec<SessionRating>,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// Reported minus intended session RPE on the mean, over the sessions of which both are known.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"sessions": 6, "mean_rpe": -0.6667, "standard_deviation_rpe": 1.0328, "reason": null}))]
pub struct RatingGap {
    /// Over how many sessions.
    pub sessions: usize,
    /// The mean gap, in points of the scale; negative where sessions felt easier than meant. Null of fewer than five.
    pub mean_rpe: Option<f64>,
    /// How far the gaps spread around it, divisor n-1.
    pub standard_deviation_rpe: Option<f64>,
    /// Why it cannot be told: fewer_than_5_ratings.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
}

/// One session as she rated it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"session_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b",
    "event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "date": "2026-11-03",
    "started_at": "2026-11-03T17:30:00+01:00", "setting": "club", "kind": "practice", "minutes": 90,
    "rpe": 5.0, "intended_rpe": 6.0, "gap_rpe": -1.0, "given_at": "2026-11-03T18:15:00Z", "given_early": false}))]
pub struct SessionRating {
    /// Her report.
    pub session_id: SessionId,
    /// The planned session it is.
    pub event_id: Option<EventId>,
    /// The date it belongs to.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// Start, with the offset of the place.
    #[schema(format = DateTime)]
    pub started_at: String,
    /// Who ran it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What was done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Minutes as she reported them.
    pub minutes: i32,
    /// Her rating.
    pub rpe: f64,
    /// How hard it was meant to be; null where nobody said, or it was called off.
    pub intended_rpe: Option<f64>,
    /// Reported minus intended.
    pub gap_rpe: Option<f64>,
    /// When she gave the rating.
    #[schema(value_type = String, format = DateTime)]
    pub given_at: Timestamp,
    /// Whether that was before the session was over.
    pub given_early: bool,
}

/// A root, four decimals.
pub(super) fn four(root: Root) -> f64 {
    root.round(Places::Four).to_f64()
}

impl RatingGap {
    pub(super) fn of(sessions: &[RatedSession]) -> Self {
        let compared: Vec<_> = sessions.iter().filter_map(RatedSession::compared).collect();
        let gap = rating::gap(&compared);
        let spread = gap.ok();
        Self {
            sessions: compared.len(),
            mean_rpe: spread.map(|spread| spread.mean.round(Places::Four).to_f64()),
            standard_deviation_rpe: spread
                .and_then(|spread| spread.standard_deviation)
                .map(four),
            reason: gap.err().map(Reason::code),
        }
    }
}

impl SessionRating {
    pub(super) fn new(session: &RatedSession) -> Result<Self, Problem> {
        let (report, rated) = (&session.report, session.rated);
        Ok(Self {
            session_id: report.session_id,
            event_id: session.event.as_ref().map(|event| event.event_id),
            date: rated.date,
            started_at: started_at(report)?,
            setting: report.setting.code(),
            kind: rated.kind.code(),
            minutes: report.minutes,
            rpe: rated.rpe.to_f64(),
            intended_rpe: session.intended.map(Rpe::to_f64),
            gap_rpe: session.compared().map(|compared| compared.gap().to_f64()),
            given_at: rated.given_at,
            given_early: rated.is_early(),
        })
    }
}
