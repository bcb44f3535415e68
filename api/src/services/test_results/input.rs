//! A result as it is sent, and as it is answered.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use crate::error::Code;
use crate::ids::{AthleteId, TestResultId};
use crate::store::Versioned;
use crate::store::test_results::TestResult;

/// The trials of one test on one side on one day. Exactly one of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "athlete_external_id": "P-33", "test": "single_hop_distance", "side": "left",
    "trials": [126, 128, 130], "tested_on": "2026-11-20", "tester": "Runa F.", "phase": "post"}))]
pub struct TestResultInput {
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// A test known by name: single_hop_distance, triple_hop_distance, crossover_hop_distance, timed_6m_hop,
    /// single_leg_jump_height, knee_extension_torque, knee_flexion_torque, countermovement_jump_height,
    /// standing_long_jump_distance, sprint_10m; or another name of lower-case letters, digits and `_`.
    #[schema(value_type = String, max_length = 60)]
    pub test: Option<String>,
    /// The unit of its trials; needed of a test that is not known by name.
    #[schema(max_length = 20)]
    pub unit: Option<String>,
    /// higher or lower; needed of a test that is not known by name.
    pub better: Option<String>,
    /// left, right, or both for a test without sides.
    #[schema(value_type = String)]
    pub side: Option<String>,
    /// 2 to 10 trials in the order they were made, positive, at most three decimals.
    #[schema(value_type = Vec<f64>, min_items = 2, max_items = 10)]
    pub trials: Option<Vec<Number>>,
    /// The day of the test, not after today.
    #[schema(value_type = String, format = Date)]
    pub tested_on: Option<String>,
    /// Who tested.
    #[schema(value_type = String, max_length = 200)]
    pub tester: Option<String>,
    /// pre for a test from before an injury, with which later ones are compared; else post, which is assumed.
    pub phase: Option<String>,
}

/// A result as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "test_result_id": "0199a1b2-6666-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "test": "single_hop_distance", "unit": "cm",
    "better": "higher", "side": "left", "trials": [126.0, 128.0, 130.0], "tested_on": "2026-11-20",
    "tester": "Runa F.", "phase": "post", "received_at": "2026-11-20T17:02:11Z", "version": 1,
    "warnings": []}))]
pub struct TestResultAnswer {
    /// Its id.
    pub test_result_id: TestResultId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The test's name.
    pub test: String,
    /// The unit of its trials.
    pub unit: String,
    /// Which way is better: higher or lower.
    #[schema(value_type = String)]
    pub better: &'static str,
    /// left, right or both.
    #[schema(value_type = String)]
    pub side: &'static str,
    /// The trials in the order they were made.
    pub trials: Vec<f64>,
    /// The day.
    #[schema(value_type = String, format = Date)]
    pub tested_on: Date,
    /// Who tested.
    pub tester: String,
    /// pre or post.
    #[schema(value_type = String)]
    pub phase: &'static str,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// What is odd about it, told to who writes it; see /problems for each code.
    #[schema(value_type = Vec<String>, example = json!(["unlike_own_history"]))]
    pub warnings: Vec<Code>,
}

impl TestResultAnswer {
    /// The answer to a write.
    pub(super) fn written(stored: Versioned<TestResult>, warnings: Vec<Code>) -> Self {
        Self {
            warnings,
            ..stored.into()
        }
    }
}

impl From<Versioned<TestResult>> for TestResultAnswer {
    fn from(stored: Versioned<TestResult>) -> Self {
        let Versioned { content, version } = stored;
        Self {
            test_result_id: content.test_result_id,
            athlete_id: content.athlete_id,
            test: content.test,
            unit: content.unit,
            better: content.better.code(),
            side: content.side.code(),
            trials: content
                .trials
                .all()
                .iter()
                .map(|trial| trial.to_f64())
                .collect(),
            tested_on: content.tested_on,
            tester: content.tester,
            phase: content.phase.code(),
            received_at: version.received_at,
            version: version.number,
            warnings: Vec::new(),
        }
    }
}
