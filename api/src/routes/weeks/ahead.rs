//! Who will be over a limit in the week after, as it is sent.

use plimsoll_domain::{Ahead, Bounds, Fraction, Places};
use serde::Serialize;
use utoipa::ToSchema;

use super::entry::AuRange;
use crate::ids::AthleteId;
use crate::services::explain::Explanation;
use crate::services::weekly_list::SquadWeek;

/// An athlete who will, or may, be over a limit if what is planned happens. A plan is an intention:
/// nothing here is logged load.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "display_name": "Ida", "rule": "week_end_ratio", "certainty": "certain",
    "limit_au": {"low": 990.0, "high": 990.0}, "planned_au": {"low": 2025.0, "high": 2025.0},
    "over_by_au": {"low": 1035.0, "high": 1035.0}, "planned_sessions": 6,
    "without_intended_rpe": 0,
    "sentence": "If the 6 sessions planned for 2026-W32 happen, the week comes to 2025 AU, \
        1035 AU above the club limit of 990 AU."}))]
pub struct AheadEntry {
    /// Who.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// The rule.
    #[schema(value_type = String, example = "week_end_ratio")]
    pub rule: &'static str,
    /// certain or possible, if the sessions happen as planned.
    #[schema(value_type = String, example = "certain")]
    pub certainty: &'static str,
    /// The load that would just meet the limit.
    pub limit_au: AuRange,
    /// What the planned sessions come to; for a return from absence, the block of seven days judged.
    pub planned_au: AuRange,
    /// How far that is above the limit; negative when below.
    pub over_by_au: AuRange,
    /// Sessions planned.
    pub planned_sessions: u32,
    /// Those without an intended RPE: taken at the athlete's usual range, else anywhere from 0 to 10.
    pub without_intended_rpe: u32,
    /// One plain sentence.
    pub sentence: String,
    /// The arithmetic of what is done, where it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Explanation, required = false)]
    pub explained: Option<Explanation>,
}

impl AheadEntry {
    /// The entries of a list.
    pub(super) fn all(squad_week: &SquadWeek) -> Option<Vec<Self>> {
        let ahead = squad_week.ahead.as_ref()?;
        Some(ahead.iter().filter_map(Self::of).collect())
    }

    /// One athlete; `None` where no rule is raised.
    pub(super) fn of(ahead: &Ahead<AthleteId>) -> Option<Self> {
        let judgement = &ahead.judgement;
        let load = judgement.load;
        Some(Self {
            athlete_id: ahead.key,
            display_name: ahead.display_name.clone(),
            rule: judgement.rule.code(),
            certainty: judgement.certainty()?.code(),
            limit_au: range(judgement.limit_au?),
            planned_au: AuRange {
                low: load.low.to_au(),
                high: load.high.to_au(),
            },
            over_by_au: range(judgement.over_by_au?),
            planned_sessions: ahead.sessions,
            without_intended_rpe: ahead.usual_taken + ahead.anything_taken,
            sentence: ahead.sentence.clone(),
            explained: None,
        })
    }
}

fn range(bounds: Bounds<Fraction>) -> AuRange {
    let au = |value: Fraction| value.round(Places::Four).to_f64();
    AuRange {
        low: au(bounds.low),
        high: au(bounds.high),
    }
}
