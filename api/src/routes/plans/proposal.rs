//! Changes of a plan, as they are sent.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use super::answer::NOTE;
use super::limit::PlanLimit;
use super::numbers::wide;
use super::other_ways::{BestMove, BuildUpOffer, FewerGamesOffer};
use super::within_week::WithinWeekAnswer;
use crate::ids::AthleteId;
use crate::services::plans::ReadyPlan;
use crate::services::plans::changes::{Changes, WeekCut};
use crate::services::plans::history::PlanAthlete;
use crate::web::figures::{CAUTION, RATIO_NOTE};

/// What a proposal is not.
const PROPOSAL_NOTE: &str = "A proposal is arithmetic for the coach who decides: it predicts nothing, and a plan that meets the limit \
    shows nobody to be safe. Adding load is never proposed unless it is asked for.";

/// The smallest changes of a plan that bring it within the club's limit on the ratio.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": null, "first_week": "2026-W45", "last_week": "2026-W45", "as_of": "2026-11-01T20:00:00Z",
    "logged_until": null, "policy_version": 1, "limit": {"ratio_kind": "coupled", "limit": 1.5, "source_note": "club choice"},
    "total_cut_au": 390.0, "solved_by_cuts": true,
    "weeks": [{"week": "2026-W45", "planned_au": 2400.0, "fixed_au": 1560.0, "limit_au": 2010.0, "kept_au": 2010.0, "cut_au": 390.0,
        "short_by_au": 0.0, "follows_cuts": false}],
    "within_week": {"week": "2026-W45", "from": "2026-11-02",
        "week_view": {"reason": null, "needs": [{"by": "2026-11-08", "au": 390.0}], "solved": true, "short_by_au": 0.0, "total_cut_au": 390.0,
            "sessions": [{"place": "/plan/sessions/1", "name": "practice", "date": "2026-11-05", "minutes": 90, "cut_minutes": 65,
                "kept_minutes": 25, "cut_au": 390.0}]},
        "rolling_view": {"reason": "fewer_than_28_days", "needs": [], "solved": null, "short_by_au": 0.0, "total_cut_au": null,
            "sessions": []}},
    "build_ups": null, "best_move": null, "fewer_games": null, "settings_not_shared": 0,
    "restrictions_known": false, "proposal_note": "A proposal is arithmetic …", "note": "A plan is an intention …", "ratio_note": "This compares …",
    "caution": "These figures describe what was logged. …"}))]
pub struct ChangeProposal {
    /// The athlete; null where the history was typed.
    pub athlete_id: Option<AthleteId>,
    /// First week of the plan.
    #[schema(example = "2026-W45")]
    pub first_week: String,
    /// Its last week.
    #[schema(example = "2026-W45")]
    pub last_week: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The last date that is logged; null where the history was typed or there is none.
    #[schema(value_type = Option<String>, format = Date)]
    pub logged_until: Option<Date>,
    /// The policy in force on the Sunday of the plan's first week: all weeks are judged by it; null where the club has none.
    pub policy_version: Option<u32>,
    /// The limit that is met.
    pub limit: Option<PlanLimit>,
    /// Week view: all cuts together; no other cuts take less.
    pub total_cut_au: f64,
    /// Whether each week that can be judged is within the limit then.
    pub solved_by_cuts: bool,
    /// Week view: what each week keeps. No other plan of cuts keeps more in any week.
    pub weeks: Vec<WeekCutAnswer>,
    /// Which sessions of the week that was named are shortened, the weeks before it being as planned; null where none was.
    pub within_week: Option<WithinWeekAnswer>,
    /// More load before each week that cuts leave over; null where it was not asked for.
    pub build_ups: Option<Vec<BuildUpOffer>>,
    /// Of the 50 moves of one session that leave least above the limit, the first that breaks no rule that was kept; null where it was not
    /// asked for, and where none of them does.
    pub best_move: Option<BestMove>,
    /// How many games fit, for each week that cuts leave over; null where it was not asked for.
    pub fewer_games: Option<Vec<FewerGamesOffer>>,
    /// Organisations whose loads are not shared with the club: what is done there comes on top.
    pub settings_not_shared: u32,
    /// Whether it is known what a clinician limits; false where the history was typed.
    pub restrictions_known: bool,
    /// What a proposal is not.
    pub proposal_note: &'static str,
    /// What a plan is not.
    pub note: &'static str,
    /// What a ratio is not.
    pub ratio_note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// What a week keeps.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeekCutAnswer {
    /// The week.
    pub week: String,
    /// What is planned.
    pub planned_au: f64,
    /// What of it is fixed.
    pub fixed_au: f64,
    /// The most it may have after what the weeks before keep; null where no ratio can be judged, and the week stays whole.
    pub limit_au: Option<f64>,
    /// What it keeps.
    pub kept_au: f64,
    /// What is cut.
    pub cut_au: f64,
    /// How far what is fixed is above the limit: no cuts of this week meet it.
    pub short_by_au: f64,
    /// Whether it was within the limit as planned, and is cut because weeks before it are.
    pub follows_cuts: bool,
}

impl ChangeProposal {
    /// The changes for one athlete.
    pub fn of(ready: &ReadyPlan, athlete: &PlanAthlete, changes: &Changes) -> Self {
        let others = &changes.others;
        let moved = others.moved.as_ref().and_then(Option::as_ref);
        Self {
            athlete_id: athlete.named.as_ref().map(|(id, _)| *id),
            first_week: ready.plan.plan.first().to_string(),
            last_week: ready.plan.last().to_string(),
            as_of: ready.as_of,
            logged_until: athlete.logged_until,
            policy_version: ready.by.version,
            limit: PlanLimit::of(&ready.by),
            total_cut_au: wide(&changes.cuts.total),
            solved_by_cuts: changes.weeks.iter().all(|one| one.kept.short_by.is_zero()),
            weeks: changes.weeks.iter().map(WeekCutAnswer::of).collect(),
            within_week: changes.within_week.as_ref().map(WithinWeekAnswer::of),
            build_ups: listed(others.build_ups.as_deref(), BuildUpOffer::of),
            best_move: moved.map(BestMove::of),
            fewer_games: listed(others.fewer_games.as_deref(), FewerGamesOffer::of),
            settings_not_shared: athlete.not_shared,
            restrictions_known: athlete.named.is_some(),
            proposal_note: PROPOSAL_NOTE,
            note: NOTE,
            ratio_note: RATIO_NOTE,
            caution: CAUTION,
        }
    }
}

fn listed<T, A>(found: Option<&[T]>, of: impl Fn(&T) -> A) -> Option<Vec<A>> {
    found.map(|found| found.iter().map(of).collect())
}

impl WeekCutAnswer {
    fn of(cut: &WeekCut) -> Self {
        Self {
            week: cut.week.to_string(),
            planned_au: cut.planned.planned().to_au(),
            fixed_au: cut.planned.protected().to_au(),
            limit_au: cut.kept.limit.as_ref().map(wide),
            kept_au: wide(&cut.kept.kept),
            cut_au: wide(&cut.kept.cut),
            short_by_au: wide(&cut.kept.short_by),
            follows_cuts: cut.follows_cuts,
        }
    }
}
