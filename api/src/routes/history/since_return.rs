//! The load before an absence, what is back of it, and the weeks since with their ceilings.

use jiff::civil::Date;
use plimsoll_domain::{Fraction, IsoWeek, Places, Ramp, RampWeek, Reason, ReturnShare};
use serde::Serialize;
use utoipa::ToSchema;

use crate::services::history::{BeforeAndNow, History, Share};
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

/// How much of the load before the absence is back: the mean week of the 28 days up to the last day of the span.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"part": "all", "before_au_week": 2250.0,
    "now_au_week": {"point": 1537.5, "low": 1537.5, "high": 1537.5},
    "share_pct": {"point": 68.33, "low": 68.33, "high": 68.33, "reason": null}}))]
pub struct BackShare {
    /// all, games, jumps or throws.
    #[schema(value_type = String)]
    pub part: &'static str,
    /// Mean week before the absence; null where it cannot be told.
    pub before_au_week: Option<f64>,
    /// Mean week now; null where it cannot be told.
    pub now_au_week: Option<AuBounds>,
    /// The one in per cent of the other.
    pub share_pct: Figure,
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
        let counted = [("all", &back.load), ("games", &back.games)];
        let counted = counted
            .into_iter()
            .filter_map(|(part, share)| Some(Self::new(part, share.as_ref()?)));
        let not_counted = ["jumps", "throws"].map(|part| Self::new(part, &Err(Reason::NotCounted)));
        let not_counted = not_counted.into_iter().filter(|_| back.ramp.is_some());
        counted.chain(not_counted).collect()
    }

    fn new(part: &'static str, share: &Share) -> Self {
        match share {
            Ok(ReturnShare {
                before_au,
                now_au,
                pct,
            }) => Self {
                part,
                before_au_week: Some(four(*before_au)),
                now_au_week: Some((*now_au).into()),
                share_pct: Figure::percent(*pct),
            },
            Err(reason) => Self {
                part,
                before_au_week: None,
                now_au_week: None,
                share_pct: Figure::percent(plimsoll_domain::Figure::none(*reason)),
            },
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
