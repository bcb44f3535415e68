//! The least change within a week, as it is sent.

use jiff::civil::Date;
use plimsoll_domain::Load;
use plimsoll_domain::plan::CutBy;
use serde::Serialize;
use utoipa::ToSchema;

use super::numbers::four;
use crate::services::plans::changes::{Change, Shortening, WithinWeek};

/// The least change within a week, in two views.
#[derive(Debug, Serialize, ToSchema)]
pub struct WithinWeekAnswer {
    /// The week.
    pub week: String,
    /// The first date that is still to come.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// So that the week as a whole is within the limit.
    pub week_view: ChangeAnswer,
    /// So that each of its dates is, by the seven days that end there.
    pub rolling_view: ChangeAnswer,
}

/// The least change for one view.
#[derive(Debug, Serialize, ToSchema)]
pub struct ChangeAnswer {
    /// Why there is no ratio to meet; null where there is.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// What must be cut, by which date; empty where the plan is within the limit.
    pub needs: Vec<NeedAnswer>,
    /// Whether cuts of what may be cut suffice; null without a ratio.
    pub solved: Option<bool>,
    /// How far they fall short.
    pub short_by_au: f64,
    /// All cuts together; null where they do not suffice.
    pub total_cut_au: Option<f64>,
    /// The sessions that are shortened, by start.
    pub sessions: Vec<ShorteningAnswer>,
}

/// What must be cut by a date.
#[derive(Debug, Serialize, ToSchema)]
pub struct NeedAnswer {
    /// Cuts on this date and before it count.
    #[schema(value_type = String, format = Date)]
    pub by: Date,
    /// The least they come to.
    pub au: f64,
}

/// A session that is shortened.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShorteningAnswer {
    /// Where it stands in what was sent, an RFC 6901 pointer.
    pub place: String,
    /// What it is called.
    pub name: Option<String>,
    /// Its date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// Its minutes as planned.
    pub minutes: u16,
    /// The minutes it gives.
    pub cut_minutes: u16,
    /// The minutes that are left of it; 0 where it is left out.
    pub kept_minutes: u16,
    /// The load it gives.
    pub cut_au: f64,
}

impl WithinWeekAnswer {
    /// The change of the week that was named.
    pub fn of(within: &WithinWeek) -> Self {
        Self {
            week: within.week.to_string(),
            from: within.from,
            week_view: ChangeAnswer::of(&within.week_view),
            rolling_view: ChangeAnswer::of(&within.rolling_view),
        }
    }
}

impl ChangeAnswer {
    fn of(change: &Change) -> Self {
        let needs = change.needs.as_ref();
        Self {
            reason: needs.err().map(|reason| reason.code()),
            needs: needs.map_or_else(
                |_| Vec::new(),
                |needs| needs.iter().map(NeedAnswer::of).collect(),
            ),
            solved: needs.is_ok().then_some(change.total.is_some()),
            short_by_au: four(change.short_by),
            total_cut_au: change.total.map(Load::to_au),
            sessions: change.sessions.iter().map(ShorteningAnswer::of).collect(),
        }
    }
}

impl NeedAnswer {
    fn of(need: &CutBy) -> Self {
        Self {
            by: need.date,
            au: four(need.au),
        }
    }
}

impl ShorteningAnswer {
    fn of(one: &Shortening) -> Self {
        let session = &one.session.session;
        let half_au = i64::from(session.intended.half_steps()) * i64::from(one.cut_minutes);
        Self {
            place: one.session.place.clone(),
            name: one.session.name.clone(),
            date: session.date,
            minutes: session.minutes.get(),
            cut_minutes: one.cut_minutes,
            kept_minutes: one.kept_minutes,
            cut_au: Load::from_half_au(half_au).map_or(0.0, Load::to_au),
        }
    }
}
