//! Checks of a result: every fault is found before any is answered.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::{Better, KnownTest, Phase, Side, TrialValue, Trials};
use serde_json::Number;

use super::input::TestResultInput;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::TestResultId;
use crate::services::fields::{self, Faults};
use crate::services::people::{Naming, People};
use crate::services::text;
use crate::services::write::Change;
use crate::store::test_results::TestResult;
use crate::web::json::shorten_text;

/// Longest name of a test and longest unit, in characters.
const NAME: usize = 60;
const UNIT: usize = 20;

/// The result a body describes.
pub(super) fn checked(
    change: &mut Change<'_>,
    test_result_id: TestResultId,
    input: &TestResultInput,
) -> Result<TestResult, Problem> {
    let naming = Naming {
        athlete_id: input.athlete_id.as_deref(),
        athlete_external_id: input.athlete_external_id.as_deref(),
    };
    let mut faults = Faults::default();
    let subject = faults.take(People::subject_of(change, naming)?);
    let home = subject
        .as_ref()
        .map_or(TimeZone::UTC, |subject| subject.home.clone());
    let today = home.to_datetime(change.at()).date();
    let measured = measured(input, &mut faults);
    let tested_on = faults.take(past_date("/tested_on", input.tested_on.as_deref(), today));
    let tester = faults.take(fields::line("/tester", input.tester.as_deref()));
    let phase = faults.take(phase(input.phase.as_deref()));
    let result = subject
        .zip(measured)
        .zip(tested_on)
        .zip(tester.zip(phase))
        .map(
            |(((subject, measured), tested_on), (tester, phase))| TestResult {
                test_result_id,
                athlete_id: subject.athlete_id,
                test: measured.test,
                unit: measured.unit,
                better: measured.better,
                side: measured.side,
                trials: measured.trials,
                tested_on,
                tester,
                phase,
            },
        );
    faults.settle(result)
}

/// The result a body describes in the place of another, which stays the same athlete's.
pub(super) fn replacing(
    change: &mut Change<'_>,
    current: &TestResult,
    input: &TestResultInput,
) -> Result<TestResult, Problem> {
    let result = checked(change, current.test_result_id, input)?;
    if result.athlete_id == current.athlete_id {
        return Ok(result);
    }
    let given = result.athlete_id.to_string();
    let fault = FieldProblem::new("/athlete_id", Code::IdTaken, given);
    Err(Problem::field(fault))
}

/// A date that is not after today.
pub(in crate::services) fn past_date(
    pointer: &str,
    given: Option<&str>,
    today: Date,
) -> Result<Date, FieldProblem> {
    let date = fields::date(pointer, given)?;
    if date <= today {
        return Ok(date);
    }
    Err(FieldProblem::new(pointer, Code::InFuture, date.to_string())
        .allowed(format!("{today} or earlier")))
}

/// The side of a test or an injury.
pub(in crate::services) fn side(given: Option<&str>) -> Result<Side, FieldProblem> {
    let codes = || fields::list(Side::ALL.iter().map(|side| side.code()));
    fields::coded("/side", given, Side::parse, codes)
}

fn phase(given: Option<&str>) -> Result<Phase, FieldProblem> {
    let codes = || fields::list(Phase::ALL.iter().map(|phase| phase.code()));
    fields::coded(
        "/phase",
        given.or(Some(Phase::Post.code())),
        Phase::parse,
        codes,
    )
}

/// The parts that belong together: what a known test fixes, and what its trials can be.
struct Measuring {
    test: String,
    unit: String,
    better: Better,
    side: Side,
    trials: Trials,
}

fn measured(input: &TestResultInput, faults: &mut Faults) -> Option<Measuring> {
    let test = faults.take(test_name(input.test.as_deref()));
    let known = test.as_deref().and_then(KnownTest::named);
    let unit = faults.take(unit(input.unit.as_deref(), known));
    let better = faults.take(better(input.better.as_deref(), known));
    let side = faults.take(side(input.side.as_deref()).and_then(|side| of_test(side, known)));
    let trials = trials(input.trials.as_deref(), known, faults);
    Some(Measuring {
        test: test?,
        unit: unit?,
        better: better?,
        side: side?,
        trials: trials?,
    })
}

fn test_name(given: Option<&str>) -> Result<String, FieldProblem> {
    const ALLOWED: &str = "1 to 60 lower-case letters, digits and _, such as single_hop_distance";
    let name = given.ok_or_else(|| FieldProblem::missing("/test", ALLOWED))?;
    let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    if (1..=NAME).contains(&name.len()) && name.chars().all(fits) {
        return Ok(name.to_owned());
    }
    Err(FieldProblem::new("/test", Code::InvalidTestName, shorten_text(name)).allowed(ALLOWED))
}

/// The unit; that of a test known by name is not another one.
fn unit(given: Option<&str>, known: Option<&KnownTest>) -> Result<String, FieldProblem> {
    match (given, known) {
        (None, Some(known)) => Ok(known.unit.to_owned()),
        (Some(given), Some(known)) if given != known.unit => {
            Err(
                FieldProblem::new("/unit", Code::UnknownValue, shorten_text(given))
                    .allowed(known.unit),
            )
        }
        (None, None) => Err(FieldProblem::missing(
            "/unit",
            format!("1 to {UNIT} characters, of a test that is not known by name"),
        )),
        (Some(given), _) => text::line("/unit", given, UNIT).map(|()| given.to_owned()),
    }
}

/// Which way is better; that of a test known by name is not the other one.
fn better(given: Option<&str>, known: Option<&KnownTest>) -> Result<Better, FieldProblem> {
    let allowed = |better: &Better| known.is_none_or(|known| known.better == *better);
    let codes = || {
        let open = Better::ALL.iter().filter(|better| allowed(better));
        fields::list(open.map(|better| better.code()))
    };
    match (given, known) {
        (None, Some(known)) => Ok(known.better),
        _ => fields::coded(
            "/better",
            given,
            |text| Better::parse(text).filter(allowed),
            codes,
        ),
    }
}

fn of_test(side: Side, known: Option<&KnownTest>) -> Result<Side, FieldProblem> {
    match known {
        Some(known) if !known.sides().contains(&side) => {
            let sides = fields::list(known.sides().iter().map(|side| side.code()));
            Err(FieldProblem::new("/side", Code::UnknownValue, side.code())
                .detail(format!("{} is tested on: {sides}.", known.code))
                .allowed(sides))
        }
        _ => Ok(side),
    }
}

fn trials(
    given: Option<&[Number]>,
    known: Option<&KnownTest>,
    faults: &mut Faults,
) -> Option<Trials> {
    let allowed = format!("{} to {} trials", Trials::LEAST, Trials::MOST);
    let Some(given) = given else {
        faults.extend([FieldProblem::missing("/trials", allowed)]);
        return None;
    };
    if given.len() < Trials::LEAST || given.len() > Trials::MOST {
        let code = match given.len() {
            few if few < Trials::LEAST => Code::TooFewTrials,
            _ => Code::OutOfRange,
        };
        faults.extend([FieldProblem::new("/trials", code, given.len()).allowed(allowed)]);
        return None;
    }
    let read = given
        .iter()
        .enumerate()
        .map(|(at, number)| faults.take(trial(at, number, known)));
    let read: Vec<Option<TrialValue>> = read.collect();
    Trials::new(read.into_iter().collect::<Option<_>>()?).ok()
}

/// One trial, of which a test known by name says what it can be.
fn trial(at: usize, given: &Number, known: Option<&KnownTest>) -> Result<TrialValue, FieldProblem> {
    let trial = TrialValue::parse(&given.to_string()).ok();
    let possible = trial.filter(|trial| known.is_none_or(|known| known.allows(*trial)));
    possible.ok_or_else(|| {
        let allowed = match known {
            Some(known) => {
                let (least, most) = known.allowed();
                format!("{least} to {most} {}, at most 3 decimals", known.unit)
            }
            None => "above 0 and up to 100000, at most 3 decimals".to_owned(),
        };
        FieldProblem::new(
            format!("/trials/{at}"),
            Code::TrialOutOfRange,
            given.clone(),
        )
        .allowed(allowed)
    })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn read(body: serde_json::Value) -> Result<(String, &'static str, &'static str), Vec<String>> {
        let input: TestResultInput = serde_json::from_value(body).unwrap();
        let mut faults = Faults::default();
        let found = measured(&input, &mut faults);
        let faults = faults.into_vec().into_iter();
        let faults = faults.map(|fault| format!("{} {}", fault.pointer, fault.code.code()));
        let faults: Vec<String> = faults.collect();
        match found {
            Some(found) if faults.is_empty() => {
                Ok((found.unit, found.better.code(), found.side.code()))
            }
            _ => Err(faults),
        }
    }

    #[test]
    fn a_known_test_brings_unit_and_direction() {
        let hop = json!({"test": "timed_6m_hop", "side": "left", "trials": [2.1, 2.10]});
        assert_eq!(read(hop), Ok(("s".to_owned(), "lower", "left")));
        let other = json!({"test": "ball_speed", "unit": "km/h", "better": "higher",
            "side": "both", "trials": [61, 62.5]});
        assert_eq!(read(other), Ok(("km/h".to_owned(), "higher", "both")));
    }

    #[test]
    fn every_fault_is_found() {
        for (body, faults) in [
            (
                json!({}),
                vec![
                    "/test missing_field",
                    "/unit missing_field",
                    "/better missing_field",
                    "/side missing_field",
                    "/trials missing_field",
                ],
            ),
            (
                json!({"test": "single_hop_distance", "unit": "m", "better": "lower", "side": "both",
                    "trials": [400.5, 9, 128]}),
                vec![
                    "/unit unknown_value",
                    "/better unknown_value",
                    "/side unknown_value",
                    "/trials/0 trial_out_of_range",
                    "/trials/1 trial_out_of_range",
                ],
            ),
            (
                json!({"test": "Hop!", "unit": "cm", "better": "higher", "side": "left", "trials": [1]}),
                vec!["/test invalid_test_name", "/trials too_few_trials"],
            ),
            (
                json!({"test": "sprint_10m", "side": "both", "trials": [1.29, 1.2345, -2, 0]}),
                vec![
                    "/trials/0 trial_out_of_range",
                    "/trials/1 trial_out_of_range",
                    "/trials/2 trial_out_of_range",
                    "/trials/3 trial_out_of_range",
                ],
            ),
        ] {
            assert_eq!(
                read(body.clone()),
                Err(faults.into_iter().map(str::to_owned).collect()),
                "{body}"
            );
        }
    }
}
