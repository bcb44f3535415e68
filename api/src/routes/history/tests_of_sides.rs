//! Tests of both sides, as they are sent.

use jiff::civil::Date;
use plimsoll_domain::{Fraction, Places, Reason, Side, TrialsBy};
use serde::Serialize;
use utoipa::ToSchema;

use crate::services::history::{TestDay, Tests};
use crate::store::injuries::Injury;
use crate::store::test_results::TestResult;

/// One test on one day, both sides against each other and against before the injury. It decides nothing.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"test": "single_hop_distance", "unit": "cm", "better": "higher",
    "tested_on": "2026-11-20", "involved_side": "left", "symmetry_pct": 90.14,
    "against_pre_injury_other_side_pct": 85.33, "other_side_lost_pct": 5.33,
    "reason": null, "against_reason": null, "days_since_injury": 272, "days_since_surgery": 259,
    "sides": []}))]
pub struct TestedDay {
    /// The test's name.
    pub test: String,
    /// The unit of its trials.
    pub unit: String,
    /// Which way is better: higher or lower.
    #[schema(value_type = String)]
    pub better: &'static str,
    /// The day.
    #[schema(value_type = String, format = Date)]
    pub tested_on: Date,
    /// The injured side: left, right or both; null where no injury is entered.
    #[schema(value_type = Option<String>)]
    pub involved_side: Option<&'static str>,
    /// The involved side in per cent of the other one on that day, more being better whichever way the test is read.
    pub symmetry_pct: Option<f64>,
    /// Why it is null.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// The involved side in per cent of what the other one was before the injury.
    pub against_pre_injury_other_side_pct: Option<f64>,
    /// Why it is null.
    #[schema(value_type = Option<String>)]
    pub against_reason: Option<&'static str>,
    /// What the other side has lost since before the injury, per cent; negative where it has gained. It flatters the first figure.
    pub other_side_lost_pct: Option<f64>,
    /// Days from the newest injury to the test.
    pub days_since_injury: Option<i64>,
    /// Days from the newest surgery to the test.
    pub days_since_surgery: Option<i64>,
    /// What was measured.
    pub sides: Vec<SideResult>,
}

/// One side on one day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"side": "left", "value": 128.0, "trials": [126.0, 128.0, 130.0],
    "tester": "Runa F.", "pre_injury_value": null, "pre_injury_tested_on": null, "of_itself_before_pct": null}))]
pub struct SideResult {
    /// left, right or both.
    #[schema(value_type = String)]
    pub side: &'static str,
    /// What its trials come to.
    pub value: f64,
    /// The trials in the order they were made.
    pub trials: Vec<f64>,
    /// Who tested.
    pub tester: String,
    /// What the side came to before the injury.
    pub pre_injury_value: Option<f64>,
    /// When that was.
    #[schema(value_type = Option<String>, format = Date)]
    pub pre_injury_tested_on: Option<Date>,
    /// The side in per cent of itself before the injury.
    pub of_itself_before_pct: Option<f64>,
}

/// Which side was hurt and when.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"side": "left", "injured_on": "2026-02-21", "surgery_on": "2026-03-06"}))]
pub struct HurtSide {
    /// left, right or both.
    #[schema(value_type = String)]
    pub side: &'static str,
    /// When it happened.
    #[schema(value_type = String, format = Date)]
    pub injured_on: Date,
    /// When it was operated on.
    #[schema(value_type = Option<String>, format = Date)]
    pub surgery_on: Option<Date>,
}

impl From<&Injury> for HurtSide {
    fn from(injury: &Injury) -> Self {
        Self {
            side: injury.side.code(),
            injured_on: injury.injured_on,
            surgery_on: injury.surgery_on,
        }
    }
}

impl TestedDay {
    /// Test by test, the newest day first.
    pub(super) fn all(tests: &Tests) -> Vec<Self> {
        let days = tests.days.iter();
        days.map(|day| Self::new(day, tests.trials_by)).collect()
    }

    fn new(day: &TestDay, by: TrialsBy) -> Self {
        let symmetry = &day.symmetry;
        let sides = day.results.iter();
        Self {
            test: day.test.clone(),
            unit: day.unit.clone(),
            better: day.better.code(),
            tested_on: day.tested_on,
            involved_side: day.involved.map(Side::code),
            symmetry_pct: percent(symmetry.index),
            reason: reason(symmetry.index),
            against_pre_injury_other_side_pct: percent(symmetry.against_before),
            against_reason: reason(symmetry.against_before),
            other_side_lost_pct: percent(symmetry.uninvolved_lost),
            days_since_injury: day.days_since.0,
            days_since_surgery: day.days_since.1,
            sides: sides
                .map(|result| SideResult::new(day, result, by))
                .collect(),
        }
    }
}

impl SideResult {
    fn new(day: &TestDay, result: &TestResult, by: TrialsBy) -> Self {
        let place = match result.side {
            Side::Left => Some(0),
            Side::Right => Some(1),
            Side::Both => None,
        };
        let before = place.and_then(|place| day.before[place].as_ref());
        let value = |result: &TestResult| {
            let measured = result.trials.measured(by, result.better).value();
            measured.round(Places::Four).to_f64()
        };
        Self {
            side: result.side.code(),
            value: value(result),
            trials: result
                .trials
                .all()
                .iter()
                .map(|trial| trial.to_f64())
                .collect(),
            tester: result.tester.clone(),
            pre_injury_value: before.map(value),
            pre_injury_tested_on: before.map(|before| before.tested_on),
            of_itself_before_pct: place.and_then(|place| percent(day.symmetry.of_itself[place])),
        }
    }
}

fn percent(figure: Result<Fraction, Reason>) -> Option<f64> {
    let figure = figure.ok()?;
    Some(figure.round(Places::Two).to_f64())
}

fn reason(figure: Result<Fraction, Reason>) -> Option<&'static str> {
    figure.err().map(Reason::code)
}
