//! A restriction as an athletic trainer reads it.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use crate::ids::{AthleteId, RestrictionId};
use crate::store::restrictions::Restriction;
use crate::store::{Private, Versioned};

/// A restriction.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "restriction_id": "0199a1b2-7777-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-11-02",
    "review_date": "2026-11-13", "until": null, "availability": "limited", "max_minutes": 60,
    "max_week_au": null, "max_contacts": null, "no_games": false, "no_jumps": false,
    "no_throws": false, "no_contact": false, "instruction": "no jump throws", "note": null,
    "written_clearance_required": null, "set_by": "athletic_trainer",
    "received_at": "2026-11-02T16:40:00Z", "version": 1}))]
pub struct RestrictionAnswer {
    /// Its id.
    pub restriction_id: RestrictionId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// From this day on coaches are told to ask.
    #[schema(value_type = String, format = Date)]
    pub review_date: Date,
    /// Last day; null while it goes on.
    #[schema(value_type = Option<String>, format = Date)]
    pub until: Option<Date>,
    /// limited or not_available.
    #[schema(value_type = String)]
    pub availability: &'static str,
    /// Most minutes of a session.
    pub max_minutes: Option<i32>,
    /// Most load of seven days.
    pub max_week_au: Option<i32>,
    /// Most landing contacts of a session.
    pub max_contacts: Option<i32>,
    /// No games.
    pub no_games: bool,
    /// No jumps.
    pub no_jumps: bool,
    /// No throws.
    pub no_throws: bool,
    /// No contact with others.
    pub no_contact: bool,
    /// What coaches are told beside the limits.
    pub instruction: Option<String>,
    /// For athletic trainers alone.
    pub note: Option<String>,
    /// head_injury, heat_illness or heart, where it waits for a written clearance.
    #[schema(value_type = Option<String>)]
    pub written_clearance_required: Option<&'static str>,
    /// The role that set it last.
    pub set_by: String,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Versioned<Restriction>> for RestrictionAnswer {
    fn from(restriction: Versioned<Restriction>) -> Self {
        let Versioned { content, version } = restriction;
        Self {
            restriction_id: content.restriction_id,
            athlete_id: content.athlete_id,
            from: content.from_date,
            review_date: content.review_date,
            until: content.until_date,
            availability: content.availability.code(),
            max_minutes: content.max_minutes,
            max_week_au: content.max_week_au,
            max_contacts: content.max_contacts,
            no_games: content.no_games,
            no_jumps: content.no_jumps,
            no_throws: content.no_throws,
            no_contact: content.no_contact,
            instruction: content.instruction.map(Private::into_inner),
            note: content.note.map(Private::into_inner),
            written_clearance_required: content.written_clearance.map(|kind| kind.code()),
            set_by: version.acting_role,
            received_at: version.received_at,
            version: version.number,
        }
    }
}
