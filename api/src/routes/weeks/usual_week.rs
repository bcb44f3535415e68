//! An athlete's usual week, as it is sent.

use plimsoll_domain as domain;
use plimsoll_domain::Places;
use serde::Serialize;
use utoipa::ToSchema;

use crate::web::figures::{Figure, Values};

/// The athlete's own usual week, over the last known weeks: unusual for her, not good or bad.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"weeks_used": 8, "mean_au": 2155.0, "standard_deviation_au": 109.6748,
    "z": 4.9692, "median_au": 2170.0, "median_deviation_au": 75.0, "robust_z": 4.7664}))]
pub struct UsualWeek {
    /// Weeks it is taken over.
    pub weeks_used: u8,
    /// Mean week.
    pub mean_au: f64,
    /// Sample standard deviation.
    pub standard_deviation_au: f64,
    /// Distance of this week from the mean, in standard deviations.
    pub z: Option<f64>,
    /// Median week.
    pub median_au: f64,
    /// Median absolute deviation.
    pub median_deviation_au: f64,
    /// Distance from the median, in 1.4826 median absolute deviations.
    pub robust_z: Option<f64>,
}

impl From<domain::Baseline> for UsualWeek {
    fn from(usual: domain::Baseline) -> Self {
        let four = |value: domain::Fraction| value.round(Places::Four).to_f64();
        Self {
            weeks_used: usual.weeks_used,
            mean_au: four(usual.mean),
            standard_deviation_au: usual.standard_deviation.round(Places::Four).to_f64(),
            z: Values::root(usual.z).point,
            median_au: four(usual.median),
            median_deviation_au: four(usual.median_deviation),
            robust_z: Figure::ratio(usual.robust_z).point,
        }
    }
}
