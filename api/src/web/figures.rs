//! Figures as they are sent: rounded once, here, by one rule.
//!
//! Ratios, monotony and AU a day have four decimals; percentages and training strain two; sums of
//! AU are exact. Ties go to the even digit, on the exact value.

use plimsoll_domain as domain;
use plimsoll_domain::{Fraction, Places, Root};
use serde::Serialize;
use utoipa::ToSchema;

use super::write_json::{WriteJson, write_object};

/// A sum of session loads, always a multiple of 0.5 AU.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"point": 2810.0, "low": 2810.0, "high": 2810.0}))]
pub struct LoadBounds {
    /// As logged.
    pub point: f64,
    /// The least it can be while sessions are unlogged or disputed.
    pub low: f64,
    /// The most it can be.
    pub high: f64,
}

/// A figure that may not exist: null with a reason.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"point": 1.3885, "low": 1.3885, "high": 1.3885, "reason": null}))]
pub struct Figure {
    /// As logged; null where it does not exist.
    pub point: Option<f64>,
    /// The least it can be.
    pub low: Option<f64>,
    /// The most it can be; null where unbounded.
    pub high: Option<f64>,
    /// Why something is null.
    #[schema(value_type = Option<String>, example = "fewer_than_28_days")]
    pub reason: Option<&'static str>,
}

/// A figure whose reason stands beside it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"point": 1.2749, "low": 1.2749, "high": 1.2749}))]
pub struct Values {
    /// As logged; null where it does not exist.
    pub point: Option<f64>,
    /// The least it can be.
    pub low: Option<f64>,
    /// The most it can be; null where unbounded.
    pub high: Option<f64>,
}

/// Monotony with both divisors of the standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "sample": {"point": 1.2749, "low": 1.2749, "high": 1.2749},
    "population": {"point": 1.3771, "low": 1.3771, "high": 1.3771}, "reason": null}))]
pub struct Monotony {
    /// Standard deviation with divisor n-1, the default.
    pub sample: Values,
    /// Standard deviation with divisor n.
    pub population: Values,
    /// Why something is null.
    #[schema(value_type = Option<String>, example = "no_variation")]
    pub reason: Option<&'static str>,
}

/// Training strain, week load times monotony, with both divisors; its bounds are outer bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "sample": {"point": 3582.55, "low": 3582.55, "high": 3582.55},
    "population": {"point": 3869.59, "low": 3869.59, "high": 3869.59}}))]
pub struct TrainingStrain {
    /// With the monotony of divisor n-1.
    pub sample: Values,
    /// With the monotony of divisor n.
    pub population: Values,
}

/// Mean week of the chronic window, as logged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"coupled": 2023.75, "uncoupled": 1761.6667}))]
pub struct ChronicWeek {
    /// A quarter of the last 28 days.
    pub coupled: f64,
    /// A third of the 21 days before the last 7.
    pub uncoupled: f64,
}

/// Change from one week to the next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"au": 455.0,
    "pct": {"point": 19.32, "low": 19.32, "high": 19.32}, "reason": null}))]
pub struct Change {
    /// In AU, as logged.
    pub au: Option<f64>,
    /// In per cent of the earlier week.
    pub pct: Values,
    /// Why something is null.
    #[schema(value_type = Option<String>, example = "fewer_than_14_days")]
    pub reason: Option<&'static str>,
}

/// Exponentially weighted means, as logged, without bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"acute_au_day": 324.1252, "chronic_au_day": 315.5443,
    "ratio": 1.0272, "seed": "first_day", "reason": null}))]
pub struct ExponentialMeans {
    /// Short mean, N = 7, in AU a day.
    pub acute_au_day: Option<f64>,
    /// Long mean, N = 28, in AU a day.
    pub chronic_au_day: Option<f64>,
    /// Short over long.
    pub ratio: Option<f64>,
    /// What the means start from: `first_day`, the load of the first membership day.
    #[schema(value_type = String)]
    pub seed: &'static str,
    /// Why something is null.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
}

/// How many days of a window were in which state; sums to the window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"reported": 20, "rest_declared": 6, "assumed_rest": 2, "absence": 0,
    "partly_reported": 0, "unlogged": 0, "before_membership": 0}))]
pub struct DayCounts {
    /// Every expected session reported or declared absent.
    pub reported: u8,
    /// Rest, declared.
    pub rest_declared: u8,
    /// Nothing expected and nothing said.
    pub assumed_rest: u8,
    /// Within a declared absence.
    pub absence: u8,
    /// Some expected sessions reported, some not.
    pub partly_reported: u8,
    /// Expected, nothing reported.
    pub unlogged: u8,
    /// Before the first membership date.
    pub before_membership: u8,
}

impl From<domain::Bounds<domain::Load>> for LoadBounds {
    fn from(bounds: domain::Bounds<domain::Load>) -> Self {
        Self {
            point: bounds.point.to_au(),
            low: bounds.low.to_au(),
            high: bounds.high.to_au(),
        }
    }
}

impl Figure {
    /// A ratio, four decimals.
    pub fn ratio(figure: domain::Figure<Fraction>) -> Self {
        Self::of(figure, |value| value.round(Places::Four).to_f64())
    }

    /// A percentage, two decimals.
    pub fn percent(figure: domain::Figure<Fraction>) -> Self {
        Self::of(figure, |value| value.round(Places::Two).to_f64())
    }

    /// AU that are no sum of session loads, four decimals.
    pub fn au(figure: domain::Figure<Fraction>) -> Self {
        Self::of(figure, |value| value.round(Places::Four).to_f64())
    }

    /// A load that may not exist, exact.
    pub fn load(figure: domain::Figure<domain::Load>) -> Self {
        Self::of(figure, domain::Load::to_au)
    }

    fn of<T: Copy + PartialEq>(figure: domain::Figure<T>, round: impl Fn(T) -> f64) -> Self {
        let Values { point, low, high } = Values::of(figure, round);
        Self {
            point,
            low,
            high,
            reason: figure.reason.map(domain::Reason::code),
        }
    }
}

impl Values {
    /// Mostly nothing is unknown, and a bound that is the point is not rounded again.
    fn of<T: Copy + PartialEq>(figure: domain::Figure<T>, round: impl Fn(T) -> f64) -> Self {
        let point = figure.point.map(&round);
        let bound = |value: Option<T>| {
            if value == figure.point {
                point
            } else {
                value.map(&round)
            }
        };
        Self {
            point,
            low: bound(figure.low),
            high: bound(figure.high),
        }
    }

    /// A root such as a monotony, four decimals.
    pub fn root(figure: domain::Figure<Root>) -> Self {
        Self::of(figure, |value| value.round(Places::Four).to_f64())
    }

    /// A percentage, two decimals.
    pub fn percent(figure: domain::Figure<Fraction>) -> Self {
        Self::of(figure, |value| value.round(Places::Two).to_f64())
    }
}

impl From<domain::ByDivisor<domain::Figure<Root>>> for Monotony {
    fn from(by: domain::ByDivisor<domain::Figure<Root>>) -> Self {
        let round = |value: Root| value.round(Places::Four).to_f64();
        Self {
            reason: by.sample.reason.map(domain::Reason::code),
            sample: Values::of(by.sample, round),
            population: Values::of(by.population, round),
        }
    }
}

impl From<domain::ByDivisor<domain::Figure<Root>>> for TrainingStrain {
    fn from(by: domain::ByDivisor<domain::Figure<Root>>) -> Self {
        let round = |value: Root| value.round(Places::Two).to_f64();
        Self {
            sample: Values::of(by.sample, round),
            population: Values::of(by.population, round),
        }
    }
}

impl From<domain::ChronicWeek> for ChronicWeek {
    fn from(week: domain::ChronicWeek) -> Self {
        Self {
            coupled: week.coupled.round(Places::Four).to_f64(),
            uncoupled: week.uncoupled.round(Places::Four).to_f64(),
        }
    }
}

impl From<domain::Change> for Change {
    fn from(change: domain::Change) -> Self {
        let reason = change
            .au
            .reason
            .or(change.pct.reason)
            .map(domain::Reason::code);
        Self {
            au: change.au.point.map(domain::LoadChange::to_au),
            pct: Values::percent(change.pct),
            reason,
        }
    }
}

impl From<domain::Ewma> for ExponentialMeans {
    fn from(means: domain::Ewma) -> Self {
        let round = |value: f64| Places::Four.round_float(value);
        Self {
            acute_au_day: means.acute.map(round),
            chronic_au_day: means.chronic.map(round),
            ratio: means.ratio.map(round),
            seed: means.seed.code(),
            reason: means.reason.map(domain::Reason::code),
        }
    }
}

impl From<domain::StateCounts> for DayCounts {
    fn from(counts: domain::StateCounts) -> Self {
        Self {
            reported: counts.of(domain::DayState::Reported),
            rest_declared: counts.of(domain::DayState::RestDeclared),
            assumed_rest: counts.of(domain::DayState::AssumedRest),
            absence: counts.of(domain::DayState::Absence),
            partly_reported: counts.of(domain::DayState::PartlyReported),
            unlogged: counts.of(domain::DayState::Unlogged),
            before_membership: counts.of(domain::DayState::BeforeMembership),
        }
    }
}

impl WriteJson for LoadBounds {
    fn write_json(self, out: &mut Vec<u8>) {
        out.push(b'{');
        write_bounds(Some(self.point), Some(self.low), Some(self.high), out);
        out.push(b'}');
    }
}

impl WriteJson for Values {
    fn write_json(self, out: &mut Vec<u8>) {
        out.push(b'{');
        write_bounds(self.point, self.low, self.high, out);
        out.push(b'}');
    }
}

impl WriteJson for Figure {
    fn write_json(self, out: &mut Vec<u8>) {
        out.push(b'{');
        write_bounds(self.point, self.low, self.high, out);
        out.extend_from_slice(b",\"reason\":");
        self.reason.write_json(out);
        out.push(b'}');
    }
}

/// The three fields; a bound that is the point is copied.
fn write_bounds(point: Option<f64>, low: Option<f64>, high: Option<f64>, out: &mut Vec<u8>) {
    out.extend_from_slice(b"\"point\":");
    let start = out.len();
    point.write_json(out);
    let written = start..out.len();
    let mut bound = |name: &[u8], value: Option<f64>| {
        out.extend_from_slice(name);
        if value == point {
            out.extend_from_within(written.clone());
        } else {
            value.write_json(out);
        }
    };
    bound(b",\"low\":", low);
    bound(b",\"high\":", high);
}

write_object!(Monotony {
    sample,
    population,
    reason
});
write_object!(TrainingStrain { sample, population });
write_object!(ChronicWeek { coupled, uncoupled });
write_object!(Change { au, pct, reason });
write_object!(ExponentialMeans {
    acute_au_day,
    chronic_au_day,
    ratio,
    seed,
    reason
});
write_object!(DayCounts {
    reported,
    rest_declared,
    assumed_rest,
    absence,
    partly_reported,
    unlogged,
    before_membership
});

/// Shown with every figure.
pub const CAUTION: &str = "These figures describe what was logged. They do not predict an injury in \
    one person, they do not show that anyone is safe, and they never clear anyone to train or play.";

/// Shown with every ratio. The trial: Dalen-Lorentsen T, et al. (2021) Br J Sports Med
/// 55(2):108-114, relative risk 1.01 (0.91-1.12).
pub const RATIO_NOTE: &str = "This compares one week with the weeks before it. It does not predict \
    injury; a randomised trial in youth football found no benefit from planning by it.";
