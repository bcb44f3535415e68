//! What the club's athletic trainer entered of the athlete who comes back: which side was hurt, and tests of both from before and after.

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::IsoWeek;
use serde_json::Number;

use super::first_monday;
use super::story::ABSENCE;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::services::injuries::{self, InjuryInput};
use crate::services::test_results::{self, TestResultInput};
use crate::services::write::Change;

const TESTER: &str = "Runa F., athletic trainer";

/// Test, trials of the left side, trials of the right one.
type Tested = (&'static str, [f64; 3], [f64; 3]);

const BEFORE: [Tested; 2] = [
    (
        "single_hop_distance",
        [151.0, 149.5, 153.0],
        [148.0, 152.0, 150.0],
    ),
    ("timed_6m_hop", [1.92, 1.9, 1.88], [1.93, 1.89, 1.91]),
];

const AFTER: [Tested; 3] = [
    (
        "single_hop_distance",
        [126.0, 128.0, 130.0],
        [140.0, 142.0, 144.0],
    ),
    ("timed_6m_hop", [2.08, 2.12, 2.1], [1.97, 1.95, 1.93]),
    (
        "knee_extension_torque",
        [2.08, 2.12, 2.1],
        [2.49, 2.5, 2.51],
    ),
];

/// Enters them, for the season that ends with `week`.
pub(super) fn enter(
    change: &mut Change<'_>,
    athlete: AthleteId,
    week: IsoWeek,
) -> Result<(), Problem> {
    let before_end = |days| week.sunday().saturating_sub(Span::new().days(days));
    let injury = InjuryInput {
        athlete_id: Some(athlete.to_string()),
        side: Some("left".to_owned()),
        injured_on: Some(before_end(ABSENCE.0 + 1).to_string()),
        ..InjuryInput::default()
    };
    injuries::enter(change, &injury)?;
    let screening = first_monday(week).saturating_add(Span::new().days(3));
    for (phase, on, tests) in [
        ("pre", screening, &BEFORE[..]),
        ("post", before_end(2), &AFTER),
    ] {
        for (test, left, right) in tests {
            for (side, trials) in [("left", left), ("right", right)] {
                let result = result(athlete, (test, side, trials), phase, on);
                test_results::enter(change, &result)?;
            }
        }
    }
    Ok(())
}

fn result(
    athlete: AthleteId,
    (test, side, trials): (&str, &str, &[f64]),
    phase: &str,
    on: Date,
) -> TestResultInput {
    TestResultInput {
        athlete_id: Some(athlete.to_string()),
        test: Some(test.to_owned()),
        side: Some(side.to_owned()),
        trials: trials
            .iter()
            .map(|trial| Number::from_f64(*trial))
            .collect(),
        tested_on: Some(on.to_string()),
        tester: Some(TESTER.to_owned()),
        phase: Some(phase.to_owned()),
        ..TestResultInput::default()
    }
}
