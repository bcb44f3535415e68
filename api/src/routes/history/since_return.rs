//! The load before an absence, what is back of it, and the weeks since with their ceilings.

use jiff::civil::Date;
use plimsoll_domain::{
    CountWeek, Figure as DomainFigure, Fraction, IsoWeek, Places, Ramp, RampWeek, Reason,
};
use serde::Serialize;
use utoipa::ToSchema;

use crate::services::history::{BeforeAndNow, Counted, History, Share};
use crate::web::figures::{Figure, LoadBounds};
use crate::web::finding::AuBounds;

/// The load before the absence.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"chronic_au_week": 2250.0,
    "weeks": ["2026-W40", "2026-W39", "2026-W38", "2026-W37"], "reason": null}))]
pub struct BeforeAbsence {
    /// Its mean week, AU; before the first absence where another followed before its return was done. Null where it cannot be told.
    pub chronic_au_week: Option<f64>,
    /// The known weeks it is the mean of, newest first.
    pub weeks: Vec<String>,
    /// Why it is null.
    #[schema(value_type = Option<String>, example = "fewer_than_3_weeks")]
    pub reason: Option<&'static str>,
}

/// How much of what was before the absence is back: the mean week of the 28 days up to the last day of the span. Load and games in AU; of
/// jumps and throws what was counted in reported sessions, with a share only where every one of both times was. Common practice, no source.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"part": "all", "before_au_week": 2250.0,
    "now_au_week": {"point": 1537.5, "low": 1537.5, "high": 1537.5}, "before_count_week": null, "now_count_week": null,
    "share_pct": {"point": 68.33, "low": 68.33, "high": 68.33, "reason": null}}))]
pub struct BackShare {
    /// all, games, jumps (landings on feet, each once) or throws.
    #[schema(value_type = String)]
    pub part: &'static str,
    /// Load of the mean week before the absence; null where it cannot be told, and of jumps and throws.
    pub before_au_week: Option<f64>,
    /// Load of the mean week now; null where it cannot be told, and of jumps and throws.
    pub now_au_week: Option<AuBounds>,
    /// Jumps or throws of the mean week before the absence; null where it cannot be told, and of loads.
    pub before_count_week: Option<CountedWeek>,
    /// Jumps or throws of the mean week now; null where it cannot be told, and of loads.
    pub now_count_week: Option<CountedWeek>,
    /// The one in per cent of the other.
    pub share_pct: Figure,
}

/// A mean week of what was counted in the reported sessions of some weeks.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[schema(example = json!({"mean": 241.5, "at_least": true, "sessions_not_counted": 2}))]
pub struct CountedWeek {
    /// The mean number; null where there were sessions and none was counted.
    pub mean: Option<f64>,
    /// Whether it is at least so many, since sessions were not counted.
    pub at_least: bool,
    /// Reported sessions that were not counted.
    pub sessions_not_counted: u32,
}

/// A week since the absence, of seven days from the day after it, against its ceiling.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"week": 1, "from": "2026-11-09", "to": "2026-11-15", "step": 1,
    "load_au": {"point": 900.0, "low": 900.0, "high": 900.0},
    "ceiling_au": {"point": 1125.0, "low": 1125.0, "high": 1125.0},
    "binding": "policy", "over_by_au": 0.0, "share_of_pre_absence_pct": 40.0}))]
pub struct ReturnStep {
    /// 1, 2, 3, …
    pub week: usize,
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// Which step of the return applied; a week above its ceiling repeats the step.
    pub step: usize,
    /// What was done.
    pub load_au: LoadBounds,
    /// The ceiling; lower where an unlogged session may have put an earlier week above its own.
    pub ceiling_au: AuBounds,
    /// Whose ceiling it is: policy, or clinician where a restriction allows less.
    #[schema(value_type = String)]
    pub binding: &'static str,
    /// How far the logged load was above it, AU; 0 where it was not.
    pub over_by_au: f64,
    /// The logged load in per cent of the mean week before the absence.
    pub share_of_pre_absence_pct: Option<f64>,
}

impl BeforeAbsence {
    /// Of a history that is about an absence.
    pub(super) fn of(back: &BeforeAndNow) -> Option<Self> {
        let none = |reason: Reason| Self {
            chronic_au_week: None,
            weeks: Vec::new(),
            reason: Some(reason.code()),
        };
        let told = |ramp: Ramp| Self {
            chronic_au_week: Some(four(ramp.before_au)),
            weeks: ramp
                .before
                .iter()
                .flatten()
                .map(IsoWeek::to_string)
                .collect(),
            reason: None,
        };
        Some(back.ramp?.map_or_else(none, told))
    }
}

impl BackShare {
    /// In all and part by part; nothing of a history that is about no absence.
    pub(super) fn all(back: &BeforeAndNow) -> Vec<Self> {
        let loads = [("all", back.load), ("games", back.games)];
        let loads = loads.into_iter();
        let loads = loads.filter_map(|(part, share)| Some(Self::of_load(part, share?)));
        let counts = [("jumps", back.jumps), ("throws", back.throws)];
        let counts = counts.into_iter();
        let counts = counts.filter_map(|(part, share)| Some(Self::of_counts(part, share?)));
        loads.chain(counts).collect()
    }

    fn of_load(part: &'static str, share: Share) -> Self {
        let told = share.ok();
        Self {
            part,
            before_au_week: told.map(|share| four(share.before_au)),
            now_au_week: told.map(|share| share.now_au.into()),
            before_count_week: None,
            now_count_week: None,
            share_pct: Figure::percent(share.map_or_else(DomainFigure::none, |share| share.pct)),
        }
    }

    fn of_counts(part: &'static str, counted: Counted) -> Self {
        let told = counted.ok();
        let pct = counted.and_then(|counted| counted.pct);
        Self {
            part,
            before_au_week: None,
            now_au_week: None,
            before_count_week: told.map(|counted| counted.before.into()),
            now_count_week: told.map(|counted| counted.now.into()),
            share_pct: Figure::percent(pct.map_or_else(DomainFigure::none, DomainFigure::exact)),
        }
    }
}

impl From<CountWeek> for CountedWeek {
    fn from(week: CountWeek) -> Self {
        Self {
            mean: week.mean.map(four),
            at_least: week.not_counted > 0,
            sessions_not_counted: week.not_counted,
        }
    }
}

impl ReturnStep {
    /// The weeks that are over.
    pub(super) fn all(history: &History) -> Vec<Self> {
        let Some(Ok(ramp)) = history.back.ramp else {
            return Vec::new();
        };
        let weeks = history.since_return.iter();
        weeks.map(|week| Self::new(&ramp, week)).collect()
    }

    fn new(ramp: &Ramp, week: &RampWeek) -> Self {
        let done = Fraction::new(week.load.point.half_au(), 2);
        let share = done.and_then(|done| ramp.share_pct(done));
        Self {
            week: week.number,
            from: week.from,
            to: week.to,
            step: week.step,
            load_au: week.load.into(),
            ceiling_au: week.ceiling_au.into(),
            binding: week.binding.code(),
            over_by_au: four(week.over_by_au().max(Fraction::ZERO)),
            share_of_pre_absence_pct: share.map(|share| share.round(Places::Two).to_f64()),
        }
    }
}

fn four(value: Fraction) -> f64 {
    value.round(Places::Four).to_f64()
}
