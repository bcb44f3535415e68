//! One week of a plan check, as it is sent.

use jiff::civil::Date;
use plimsoll_domain::plan::{DayOver, JumpBreach, WeekCheck};
use plimsoll_domain::{AgainstLimit, Fraction, Places, Reason, RuleCode};
use serde::Serialize;
use utoipa::ToSchema;

use super::sensitivity::PlanSensitivity;
use crate::routes::contact_checks::HoursBetween;
use crate::routes::neuromuscular::{AgainstDose, WarmUpDose};
use crate::services::plans::check::{Broken, JudgedWeek};
use crate::services::plans::sessions::NamedPlan;
use crate::web::figures::{Change, Figure, Monotony};
use crate::web::finding::AuBounds;

/// A week of a plan, as if it were done as planned.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"number": 1, "week": "2026-W32", "monday": "2026-08-03", "load_au": 2025.0,
    "prior_21d_au": {"point": 1650.0, "low": 1650.0, "high": 1650.0, "reason": null},
    "limit_au": {"point": 990.0, "low": 990.0, "high": 990.0}, "over_by_au": {"point": 1035.0, "low": 1035.0, "high": 1035.0},
    "ratio_coupled": {"point": 2.2041, "low": 2.2041, "high": 2.2041, "reason": null},
    "ratio_uncoupled": {"point": 3.6818, "low": 3.6818, "high": 3.6818, "reason": null},
    "change_from_previous_week": {"au": 1475.0, "pct": {"point": 268.18, "low": 268.18, "high": 268.18}, "reason": null},
    "monotony": {"sample": {"point": 1.7008, "low": 1.7008, "high": 1.7008},
        "population": {"point": 1.8371, "low": 1.8371, "high": 1.8371}, "reason": null},
    "organised_hours": 6.75, "free_days": 1, "games": 0, "landings": null, "warm_up": null,
    "rules_broken": [{"rule": "week_end_ratio", "certainty": "certain", "limit_au": {"point": 990.0, "low": 990.0, "high": 990.0},
        "over_by_au": {"point": 1035.0, "low": 1035.0, "high": 1035.0}, "limit_hours": null, "over_by_hours": null,
        "limit_days": null, "short_by_days": null, "limit_landings": null, "limit_gap_hours": null, "sessions": []}],
    "not_computable": [{"rule": "own_highest_week", "reason": "fewer_than_4_weeks"}],
    "days_over": [{"date": "2026-08-03", "certainty": "certain"}],
    "sensitivity": {"planned": "certain", "all_harder": "certain", "all_easier": "certain", "worst_order": "certain",
        "best_order": "certain", "robust": true, "fragile": false}}))]
pub struct PlanWeek {
    /// 1, 2, 3, … within the plan.
    pub number: usize,
    /// The week.
    #[schema(example = "2026-W32")]
    pub week: String,
    /// Its Monday.
    #[schema(value_type = String, format = Date)]
    pub monday: Date,
    /// What is planned.
    pub load_au: f64,
    /// Load of the 21 days before it.
    pub prior_21d_au: Figure,
    /// The load that would just meet the limit on the ratio; null where none is judged.
    pub limit_au: Option<AuBounds>,
    /// How far the week is above that; negative when below.
    pub over_by_au: Option<AuBounds>,
    /// Coupled ratio on its Sunday.
    pub ratio_coupled: Figure,
    /// Uncoupled ratio on its Sunday.
    pub ratio_uncoupled: Figure,
    /// Change from the week before.
    pub change_from_previous_week: Change,
    /// Monotony.
    pub monotony: Monotony,
    /// Hours of sessions in settings that count as organised.
    pub organised_hours: f64,
    /// Days without an organised session.
    pub free_days: u8,
    /// Games.
    pub games: u32,
    /// Planned landings; null where no session of the plan says any.
    pub landings: Option<PlanLandings>,
    /// Planned neuromuscular warm-up; null where no session of the plan says any.
    pub warm_up: Option<PlanWarmUp>,
    /// The rules it breaks.
    pub rules_broken: Vec<BrokenRule>,
    /// The rules that cannot be judged, and why: that is no sign that they are kept.
    pub not_computable: Vec<NotComputable>,
    /// Its days on which the seven days that end there are over the limit on the ratio.
    pub days_over: Vec<OverDay>,
    /// What a point of effort more or less would change; null where no ratio is judged.
    pub sensitivity: Option<PlanSensitivity>,
}

/// Planned landings of a week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"events": 122, "left_leg": 92, "right_leg": 92, "loaded": 15, "hands": 24, "at_least": false,
    "sessions_not_said": 1}))]
pub struct PlanLandings {
    /// Landings on feet, each once.
    pub events: u32,
    /// Landings that the left leg takes.
    pub left_leg: u32,
    /// Landings that the right leg takes.
    pub right_leg: u32,
    /// How many of those on feet are under load.
    pub loaded: u32,
    /// Landings on hands.
    pub hands: u32,
    /// Whether an item's landings cannot be told: the numbers are then "at least".
    pub at_least: bool,
    /// Sessions that say nothing of landings, as games: what they hold comes on top.
    pub sessions_not_said: u32,
    /// Whether there are sessions and none says its landings: on the page 0 would then read as said.
    #[serde(skip)]
    #[schema(ignore)]
    pub nothing_said: bool,
}

/// Planned neuromuscular warm-up of a week, each as if attended.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"planned": {"sessions": 2, "minutes": 30, "categories": ["jump", "balance"], "feedback": true},
    "sessions_not_said": 1, "against": null}))]
pub struct PlanWarmUp {
    /// What is planned.
    pub planned: WarmUpDose,
    /// Sessions that say nothing of a warm-up: there may be one.
    pub sessions_not_said: u32,
    /// Against the policy's rule (`neuromuscular_dose`); null where it has none, and of a week without a session.
    pub against: Option<AgainstDose>,
}

impl PlanWarmUp {
    fn of(judged: &JudgedWeek) -> Self {
        let week = &judged.week.warm_ups;
        let against = judged.warm_up.as_ref();
        Self {
            planned: WarmUpDose::of(&week.dose()),
            sessions_not_said: week.not_said,
            against: against.and_then(|(rule, outcome)| AgainstDose::of(rule, *outcome, week)),
        }
    }
}

impl PlanLandings {
    fn of(week: &WeekCheck) -> Self {
        let (planned, sessions_not_said) = (&week.contacts, week.contacts_not_said);
        Self {
            sessions_not_said,
            nothing_said: sessions_not_said > 0 && week.jumps.is_empty(),
            events: planned.events(),
            left_leg: planned.left_leg(),
            right_leg: planned.right_leg(),
            loaded: planned.loaded,
            hands: planned.hands,
            at_least: planned.not_known > 0,
        }
    }
}

/// A rule that is broken; what it is measured in depends on the rule, and of a warm-up stands in `warm_up`.
#[derive(Debug, Default, Serialize, ToSchema)]
pub struct BrokenRule {
    /// The rule.
    #[schema(value_type = String)]
    pub rule: &'static str,
    /// certain or possible, by what is unlogged in the history; of warm-ups and jumps by what is not said.
    #[schema(value_type = String)]
    pub certainty: &'static str,
    /// The load that would just meet it.
    pub limit_au: Option<AuBounds>,
    /// How far the week is above that.
    pub over_by_au: Option<AuBounds>,
    /// Organised hours that would just meet it.
    pub limit_hours: Option<f64>,
    /// How far the week is above that.
    pub over_by_hours: Option<f64>,
    /// Days that should be free of organised sport.
    pub limit_days: Option<f64>,
    /// How many are missing.
    pub short_by_days: Option<f64>,
    /// Landings in a session that would just meet it.
    pub limit_landings: Option<f64>,
    /// Hours between sessions with jumps that would just meet it.
    pub limit_gap_hours: Option<f64>,
    /// The sessions that break it, by date, of a rule about landings or about the time between jumps; none of another.
    pub sessions: Vec<BreakingSession>,
}

/// A planned session that breaks a rule about jumps, or may.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"date": "2026-08-06", "certainty": "possible", "landings": 96, "at_least": true,
    "hours_since_last_jumps": {"least": 24.0, "most": 72.0}}))]
pub struct BreakingSession {
    /// Its date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// certain, or possible by what cannot be told of its landings or its start.
    #[schema(value_type = String)]
    pub certainty: &'static str,
    /// Its planned landings on feet, each once.
    pub landings: u32,
    /// Whether an item's landings cannot be told: the number is then "at least".
    pub at_least: bool,
    /// From the end of the last planned jumps to its start; null for the first of the plan.
    pub hours_since_last_jumps: Option<HoursBetween>,
}

impl BreakingSession {
    fn of(breach: &JumpBreach) -> Self {
        let session = &breach.session;
        Self {
            date: session.date,
            certainty: breach.certainty.code(),
            landings: session.contacts.events(),
            at_least: session.contacts.not_known > 0,
            hours_since_last_jumps: session.since_jumps.map(HoursBetween::of),
        }
    }
}

/// A rule that cannot be judged.
#[derive(Debug, Serialize, ToSchema)]
pub struct NotComputable {
    /// The rule.
    #[schema(value_type = String)]
    pub rule: &'static str,
    /// Why.
    #[schema(value_type = String)]
    pub reason: &'static str,
}

/// A day over the limit on the ratio.
#[derive(Debug, Serialize, ToSchema)]
pub struct OverDay {
    /// The last of the seven days.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// certain or possible.
    #[schema(value_type = String)]
    pub certainty: &'static str,
}

impl PlanWeek {
    /// The week with its number in the plan.
    pub fn of(number: usize, judged: &JudgedWeek, plan: &NamedPlan) -> Self {
        let (week, ratio) = (&judged.week, judged.ratio());
        let figures = &week.figures;
        let minutes = i64::from(week.organised_minutes);
        let hours = Fraction::new(minutes, 60).map_or(0.0, to_two);
        Self {
            number,
            week: figures.week.to_string(),
            monday: figures.week.monday(),
            load_au: figures.load.point.to_au(),
            prior_21d_au: Figure::load(figures.prior_21d),
            limit_au: ratio.and_then(|ratio| ratio.limit_au).map(Into::into),
            over_by_au: ratio.and_then(|ratio| ratio.over_by_au).map(Into::into),
            ratio_coupled: Figure::ratio(figures.ratio_coupled),
            ratio_uncoupled: Figure::ratio(figures.ratio_uncoupled),
            change_from_previous_week: figures.change.into(),
            monotony: figures.monotony.into(),
            organised_hours: hours,
            free_days: week.free_days,
            games: week.games,
            landings: plan.says_landings().then(|| PlanLandings::of(week)),
            warm_up: plan.says_warm_ups().then(|| PlanWarmUp::of(judged)),
            rules_broken: judged.broken().into_iter().map(BrokenRule::of).collect(),
            not_computable: judged.not_computable().map(NotComputable::of).collect(),
            days_over: week.days_over.iter().map(OverDay::of).collect(),
            sensitivity: week.sensitivity.as_ref().map(PlanSensitivity::of),
        }
    }
}

fn to_two(value: Fraction) -> f64 {
    value.round(Places::Two).to_f64()
}

impl BrokenRule {
    fn of(broken: Broken<'_>) -> Self {
        let none = Self {
            rule: broken.rule().code(),
            certainty: broken.certainty().code(),
            ..Self::default()
        };
        match broken {
            Broken::Load(judgement) => Self {
                limit_au: judgement.limit_au.map(Into::into),
                over_by_au: judgement.over_by_au.map(Into::into),
                ..none
            },
            Broken::Organised(RuleCode::FreeDays, against) => Self {
                limit_days: Some(to_two(against.limit)),
                short_by_days: Some(beyond(against)),
                ..none
            },
            // What is lacking stands in `warm_up`.
            Broken::WarmUp(..) => none,
            Broken::Jumps(judgement) => {
                let limit = to_two(judgement.limit.to_fraction());
                let is_gap = judgement.rule == RuleCode::JumpGap;
                Self {
                    limit_landings: (!is_gap).then_some(limit),
                    limit_gap_hours: is_gap.then_some(limit),
                    sessions: judgement.breaches.iter().map(BreakingSession::of).collect(),
                    ..none
                }
            }
            Broken::Organised(_, against) => Self {
                limit_hours: Some(to_two(against.limit)),
                over_by_hours: Some(beyond(against)),
                ..none
            },
        }
    }
}

fn beyond(against: AgainstLimit) -> f64 {
    to_two(against.beyond_by.point)
}

impl NotComputable {
    fn of((rule, reason): (RuleCode, Reason)) -> Self {
        Self {
            rule: rule.code(),
            reason: reason.code(),
        }
    }
}

impl OverDay {
    fn of(day: &DayOver) -> Self {
        Self {
            date: day.date,
            certainty: day.certainty.code(),
        }
    }
}
