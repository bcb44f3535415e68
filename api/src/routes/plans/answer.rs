//! A plan check, as it is sent.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use super::limit::PlanLimit;
use super::week::PlanWeek;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::services::plans::ReadyPlan;
use crate::services::plans::check::JudgedWeek;
use crate::services::plans::history::PlanAthlete;
use crate::services::plans::words;
use crate::services::ratings::age_note;
use crate::web::figures::{CAUTION, RATIO_NOTE};

/// What a plan is not.
pub const NOTE: &str = "A plan is an intention and its limits are no target: what is left to a limit is not there to be used up. The \
    limit is the club's and no medical one. Judge the plan again each week with what was done.";

/// One check for each athlete: one where the history was typed.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanChecks {
    /// The checks, by athlete.
    pub items: Vec<PlanCheckAnswer>,
}

/// A plan judged by the club's rules as if it were done, after the history before it.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanCheckAnswer {
    /// The athlete; null where the history was typed.
    pub athlete_id: Option<AthleteId>,
    /// Her name as it is shown.
    pub display_name: Option<String>,
    /// First week of the plan.
    #[schema(example = "2026-W32")]
    pub first_week: String,
    /// Its last week.
    #[schema(example = "2027-W04")]
    pub last_week: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The last date that is logged: later ones before the plan count as they are planned; null where the history was typed or there is
    /// none.
    #[schema(value_type = Option<String>, format = Date)]
    pub logged_until: Option<Date>,
    /// The policy in force on the Sunday of the plan's first week: all weeks are judged by it; null where the club has none.
    pub policy_version: Option<u32>,
    /// The limit on the ratio; null where none is judged.
    pub limit: Option<PlanLimit>,
    /// All that is planned.
    #[schema(example = 64515.0)]
    pub total_au: f64,
    /// In words: the weeks that break a rule first.
    pub sentences: Vec<String>,
    /// The weeks that are over the limit on the ratio, or may be: each week's rules_broken says which.
    pub weeks_over: Vec<String>,
    /// Those over it even in the best order of effort.
    pub robust_weeks: Vec<String>,
    /// Those over it in the worst order alone.
    pub fragile_weeks: Vec<String>,
    /// Days that are over it, or may be, by the seven days that end on each date.
    pub days_over: usize,
    /// The first of them.
    #[schema(value_type = Option<String>, format = Date)]
    pub first_day_over: Option<Date>,
    /// Each week.
    pub weeks: Vec<PlanWeek>,
    /// Items of the programme that are left out, replaced or altered for her. They change landings and warm-ups, not minutes or intended
    /// RPE.
    pub individual_changes: usize,
    /// Organisations whose loads are not shared with the club: what is done there comes on top.
    pub settings_not_shared: u32,
    /// What her age says of the ratings; null from 12 years on, and where her birth date is not known.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// What a plan is not.
    pub note: &'static str,
    /// What a ratio is not.
    pub ratio_note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

impl PlanCheckAnswer {
    /// The plan judged for one athlete.
    pub fn of(ready: &ReadyPlan, athlete: &PlanAthlete) -> Result<Self, Problem> {
        let judged = ready.check(athlete)?;
        let named = |holds: fn(&JudgedWeek) -> bool| -> Vec<String> {
            let weeks = judged.iter().filter(|week| holds(week));
            weeks.map(|one| one.week.figures.week.to_string()).collect()
        };
        let mut days = judged.iter().flat_map(|judged| &judged.week.days_over);
        let first = ready.plan.plan.first();
        let loads = ready.plan.sessions.iter().map(|one| one.session.load());
        Ok(Self {
            athlete_id: athlete.named.as_ref().map(|(id, _)| *id),
            display_name: athlete.named.as_ref().map(|(_, name)| name.clone()),
            first_week: first.to_string(),
            last_week: ready.plan.last().to_string(),
            as_of: ready.as_of,
            logged_until: athlete.logged_until,
            policy_version: ready.by.version,
            limit: PlanLimit::of(&ready.by),
            total_au: loads.sum::<plimsoll_domain::Load>().to_au(),
            sentences: words::sentences(&judged, athlete.not_shared),
            weeks_over: named(JudgedWeek::is_over),
            robust_weeks: named(JudgedWeek::is_robust),
            fragile_weeks: named(JudgedWeek::is_fragile),
            days_over: days.clone().count(),
            first_day_over: days.next().map(|day| day.date),
            weeks: (1..)
                .zip(&judged)
                .map(|(number, week)| PlanWeek::of(number, week, &ready.plan))
                .collect(),
            individual_changes: athlete.own.as_ref().map_or(0, |own| own.changes),
            settings_not_shared: athlete.not_shared,
            age_note: age_note(athlete.born, first.monday()),
            note: NOTE,
            ratio_note: RATIO_NOTE,
            caution: CAUTION,
        })
    }
}
