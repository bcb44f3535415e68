//! What a rule found, as it is sent in the weekly list and kept with a flag.

use jiff::civil::Date;
use plimsoll_domain as domain;
use plimsoll_domain::{Fraction, Judgement, Places};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

use super::figures::{LoadBounds, Values};

/// AU with up to four decimals, for limits that are no multiples of 0.5.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"point": 3000.0, "low": 3000.0, "high": 3000.0}))]
pub struct AuBounds {
    /// As logged.
    pub point: f64,
    /// At the low end of the loads it depends on.
    pub low: f64,
    /// At their high end.
    pub high: f64,
}

impl From<domain::Bounds<Fraction>> for AuBounds {
    fn from(bounds: domain::Bounds<Fraction>) -> Self {
        let round = |value: Fraction| value.round(Places::Four).to_f64();
        Self {
            point: round(bounds.point),
            low: round(bounds.low),
            high: round(bounds.high),
        }
    }
}

/// The ratio a rule judged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"kind": "coupled", "point": 1.5904, "low": 1.5904, "high": 1.5904}))]
pub struct JudgedRatio {
    /// coupled or uncoupled.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// As logged.
    pub point: Option<f64>,
    /// The least it can be.
    pub low: Option<f64>,
    /// The most it can be.
    pub high: Option<f64>,
}

/// The highest earlier week a week was compared with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({"week": "2026-W41", "load_au": 2320.0, "weeks_used": 8}))]
pub struct HighestWeek {
    /// The week.
    pub week: String,
    /// Its load, at its upper bound.
    pub load_au: f64,
    /// Earlier weeks looked at.
    pub weeks_used: u8,
}

impl From<domain::OwnHighest> for HighestWeek {
    fn from(highest: domain::OwnHighest) -> Self {
        Self {
            week: highest.week.to_string(),
            load_au: highest.load.to_au(),
            weeks_used: highest.weeks_used,
        }
    }
}

/// A week after an absence against its ceiling. It clears nobody: what it compares is logged load.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"absence": {"from": "2026-10-05", "to": "2026-11-08", "days": 35},
    "week": 2, "from": "2026-11-16", "to": "2026-11-22", "step": 2,
    "load_au": {"point": 1500.0, "low": 1500.0, "high": 1500.0},
    "ceiling_au": {"point": 1575.0, "low": 1575.0, "high": 1575.0}, "binding": "policy",
    "pre_absence_week_au": 2250.0, "weeks_used": 4,
    "share_of_pre_absence_pct": 66.67, "four_week_mean_pct": 26.67}))]
pub struct ReturnWeek {
    /// The absence.
    pub absence: AbsenceSpan,
    /// 1, 2, 3, … since the absence; blocks of seven days from the day after it.
    pub week: usize,
    /// First day of the block.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Its last day.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// Which step of the return applies; a week above its ceiling repeats the step.
    pub step: usize,
    /// Load of the block.
    pub load_au: LoadBounds,
    /// The ceiling; lower where an unlogged session may have put an earlier week above its own.
    pub ceiling_au: AuBounds,
    /// policy or clinician: whose limit the ceiling is, the lower one.
    #[schema(value_type = String)]
    pub binding: &'static str,
    /// Mean week before the absence; before the first one where another followed.
    pub pre_absence_week_au: f64,
    /// Known weeks it is taken over.
    pub weeks_used: u8,
    /// The block's load in per cent of the mean week before the absence.
    pub share_of_pre_absence_pct: Option<f64>,
    /// The mean of the four weeks up to the block's end, in per cent of the same.
    pub four_week_mean_pct: Option<f64>,
}

/// Days away.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"from": "2026-10-05", "to": "2026-11-08", "days": 35}))]
pub struct AbsenceSpan {
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// Both included.
    pub days: i64,
}

impl From<domain::Returning> for ReturnWeek {
    fn from(returning: domain::Returning) -> Self {
        let domain::Returning { ramp, week, .. } = returning;
        let pct = |au| Some(ramp.share_pct(au)?.round(Places::Two).to_f64());
        let done = Fraction::new(week.load.point.half_au(), 2);
        Self {
            absence: AbsenceSpan {
                from: ramp.absence.0,
                to: ramp.absence.1,
                days: ramp.absence_days(),
            },
            week: week.number,
            from: week.from,
            to: week.to,
            step: week.step,
            load_au: week.load.into(),
            ceiling_au: week.ceiling_au.into(),
            binding: week.binding.code(),
            pre_absence_week_au: ramp.before_au.round(Places::Four).to_f64(),
            weeks_used: ramp.weeks_used,
            share_of_pre_absence_pct: done.and_then(pct),
            four_week_mean_pct: returning.four_week_mean_au.and_then(pct),
        }
    }
}

/// The figures of one judgement.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct JudgedFigures {
    /// The rule's limit as the policy has it.
    pub limit: f64,
    /// Load of the week, or of the block of seven days after an absence that was judged.
    pub week_load_au: LoadBounds,
    /// The load that would just meet the limit.
    pub limit_au: Option<AuBounds>,
    /// How far the week is above it; negative when below.
    pub over_by_au: Option<AuBounds>,
    /// The ratio judged.
    pub ratio: Option<JudgedRatio>,
    /// The monotony judged, sample divisor.
    pub monotony: Option<Values>,
    /// The highest earlier week compared with.
    pub own_highest: Option<HighestWeek>,
    /// The week after an absence that was judged.
    pub returning: Option<ReturnWeek>,
}

impl From<&Judgement> for JudgedFigures {
    fn from(judgement: &Judgement) -> Self {
        let four = |value: Fraction| value.round(Places::Four).to_f64();
        Self {
            limit: judgement.limit.to_f64(),
            week_load_au: judgement.load.into(),
            limit_au: judgement.limit_au.map(Into::into),
            over_by_au: judgement.over_by_au.map(Into::into),
            ratio: judgement.ratio.map(|(kind, figure)| JudgedRatio {
                kind: kind.code(),
                point: figure.point.map(four),
                low: figure.low.map(four),
                high: figure.high.map(four),
            }),
            monotony: judgement.monotony.map(Values::root),
            own_highest: judgement.own_highest.map(Into::into),
            returning: judgement.returning.map(Into::into),
        }
    }
}

/// The figures as a document, to be kept with a flag.
pub fn judged(judgement: &Judgement) -> Value {
    serde_json::to_value(JudgedFigures::from(judgement)).unwrap_or_default()
}
