//! An item of a programme as it is sent, and its checks.

use plimsoll_domain::contacts::{Reps, Sets};
use plimsoll_domain::exercises::{Catalogue, ExerciseCode};
use plimsoll_domain::measure::{LengthUnit, MassUnit};
use plimsoll_domain::programme::{
    Against, Amount, Band, Dose, Extent, HoldSeconds, Item, ItemNote, OneSide, RestSeconds, Weight,
    WorkSeconds,
};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use super::way::WayBody;
use crate::error::{Code, FieldProblem};
use crate::services::contact_checks::input::{ONE, REPS, SECONDS, SETS};
use crate::services::fields::{self, Faults};
use crate::services::text;
use crate::web::json::shorten_text;

const HOLD: &str = "whole number from 1 to 60, with reps";
const REST: &str = "whole number from 0 to 900";
const WEIGHT: &str = "above 0, up to 500 kg, at most two decimals";
const EXTENT: &str = "above 0, up to 100 m, at most two decimals; most above least";

/// An item: an exercise of the catalogue, how often, and exactly one of `reps`, `seconds` and `distance`. What is left out is not known.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"exercise": "squat_loaded", "sets": 3, "reps": 8, "load": {"amount": 12.5, "unit": "kg"}, "rest_seconds": 90,
    "note": "Knees over the toes"}))]
pub struct ProgrammeItemInput {
    /// The code of an exercise of the catalogue.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String)]
    pub exercise: Option<String>,
    /// Sets or rounds.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(required = true, value_type = i32, minimum = 1, maximum = 10)]
    pub sets: Option<Number>,
    /// Repetitions in a set, for each side in exercises of one side.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 50)]
    pub reps: Option<Number>,
    /// For how many seconds each repetition is held; only with `reps`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 60)]
    pub hold_seconds: Option<Number>,
    /// Seconds of a set, for each side in exercises of one side.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 5, maximum = 300)]
    pub seconds: Option<Number>,
    /// The way of a set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance: Option<WayBody>,
    /// left or right, where it is done on that side alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The load; or a band.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load: Option<LoadBody>,
    /// The band, as the club calls it, 1 to 40 characters; or a load.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 40)]
    pub band: Option<String>,
    /// Seconds of rest after a set.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 0, maximum = 900)]
    pub rest_seconds: Option<Number>,
    /// How far apart things are set up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_up: Option<ExtentBody>,
    /// How high something is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height: Option<ExtentBody>,
    /// What the coach adds for everybody who does it, such as a cue: a line of 1 to 200 characters. Nothing about one athlete.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 200)]
    pub note: Option<String>,
}

/// A weight in the unit it was entered in.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"amount": 12.5, "unit": "kg"}))]
pub struct LoadBody {
    /// How much, at most two decimals, up to 500 kg.
    #[schema(required = true, value_type = f64)]
    pub amount: Option<Number>,
    /// kg or lb.
    #[schema(value_type = String)]
    pub unit: Option<String>,
}

/// A length, or a range of lengths, in the unit it was entered in.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"least": 40, "most": 60, "unit": "cm"}))]
pub struct ExtentBody {
    /// The length, or the lower end, at most two decimals, up to 100 m.
    #[schema(required = true, value_type = f64)]
    pub least: Option<Number>,
    /// The upper end of a range.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<f64>)]
    pub most: Option<Number>,
    /// m, cm, yd, ft or in.
    #[schema(value_type = String)]
    pub unit: Option<String>,
}

impl ProgrammeItemInput {
    /// Checks an item; without a catalogue its exercise is not looked up.
    pub(super) fn check(
        &self,
        at: &str,
        catalogue: Option<&Catalogue>,
        faults: &mut Faults,
    ) -> Option<Item> {
        let under = |field: &str| format!("{at}/{field}");
        let exercise = faults.take(self.exercise(&under("exercise"), catalogue));
        let sets = fields::whole_of(&under("sets"), self.sets.as_ref(), SETS, Sets::new);
        let sets = faults.take(sets);
        let dose = self.dose(at, faults);
        let side = faults.take(fields::optional(&under("side"), self.side.as_deref(), side));
        let against = self.against(at, faults);
        let rest = self.rest_seconds.as_ref().map(|rest| {
            let within = |seconds| RestSeconds::new(seconds).ok_or(());
            fields::whole_of(&under("rest_seconds"), Some(rest), REST, within)
        });
        let rest = faults.take(rest.transpose());
        let mut extent = |field: &str, body: &Option<ExtentBody>| match body {
            None => Some(None),
            Some(body) => body.check(&under(field), faults).map(Some),
        };
        let (set_up, height) = (
            extent("set_up", &self.set_up),
            extent("height", &self.height),
        );
        let note = faults.take(self.note(&under("note")));
        let item = Item {
            exercise: exercise?,
            sets: sets?,
            dose: dose?,
            side: side?,
            against: against?,
            rest: rest?,
            set_up: set_up?,
            height: height?,
            note: note?,
        };
        faults.take(one_side(&item, &under("side"), catalogue))?;
        Some(item)
    }

    fn exercise(
        &self,
        pointer: &str,
        catalogue: Option<&Catalogue>,
    ) -> Result<ExerciseCode, FieldProblem> {
        const ALLOWED: &str = "the code of an exercise of the catalogue";
        let given = self.exercise.as_deref();
        let given = given.ok_or_else(|| FieldProblem::missing(pointer, ALLOWED))?;
        let known = ExerciseCode::parse(given).ok();
        let known = known.filter(|code| catalogue.is_none_or(|all| all.get(code).is_some()));
        known.ok_or_else(|| {
            FieldProblem::new(pointer, Code::UnknownExercise, shorten_text(given)).allowed(ALLOWED)
        })
    }

    fn note(&self, pointer: &str) -> Result<Option<ItemNote>, FieldProblem> {
        let Some(note) = &self.note else {
            return Ok(None);
        };
        text::line(pointer, note, ItemNote::LONGEST)?;
        Ok(ItemNote::new(note).ok())
    }

    /// Exactly one of repetitions, seconds and a way.
    fn dose(&self, at: &str, faults: &mut Faults) -> Option<Dose> {
        let hold = self.hold_seconds.as_ref().map(|hold| {
            let within = |seconds| match self.reps {
                Some(_) => HoldSeconds::new(seconds).ok_or(()),
                None => Err(()),
            };
            fields::whole_of(&format!("{at}/hold_seconds"), Some(hold), HOLD, within)
        });
        let hold = faults.take(hold.transpose());
        match (&self.reps, &self.seconds, &self.distance) {
            (Some(reps), None, None) => {
                let reps = fields::whole_of(&format!("{at}/reps"), Some(reps), REPS, Reps::new);
                Some(Dose::Reps(faults.take(reps)?, hold?))
            }
            (None, Some(seconds), None) => {
                let within = |seconds| WorkSeconds::new(seconds).ok_or(());
                let pointer = format!("{at}/seconds");
                let seconds = fields::whole_of(&pointer, Some(seconds), SECONDS, within);
                faults.take(seconds).map(Dose::Seconds)
            }
            (None, None, Some(way)) => {
                let way = way.check(&format!("{at}/distance"), faults);
                way.map(Dose::Distance)
            }
            (None, None, None) => {
                faults.extend([FieldProblem::missing(format!("{at}/reps"), ONE)]);
                None
            }
            _ => {
                let pointer = format!("{at}/reps");
                let fault = FieldProblem::new(pointer, Code::AmbiguousWork, "more than one");
                faults.extend([fault.allowed(ONE)]);
                None
            }
        }
    }

    /// A load or a band, or neither.
    fn against(&self, at: &str, faults: &mut Faults) -> Option<Option<Against>> {
        match (&self.load, &self.band) {
            (None, None) => Some(None),
            (Some(load), None) => {
                let load = load.check(&format!("{at}/load"), faults);
                load.map(|load| Some(Against::Weight(load)))
            }
            (None, Some(band)) => {
                let pointer = format!("{at}/band");
                let checked = text::line(&pointer, band, Band::LONGEST);
                faults.take(checked)?;
                Band::new(band).ok().map(|band| Some(Against::Band(band)))
            }
            (Some(_), Some(band)) => {
                let pointer = format!("{at}/band");
                let fault = FieldProblem::new(pointer, Code::AmbiguousLoad, shorten_text(band));
                faults.extend([fault.allowed("a load or a band")]);
                None
            }
        }
    }
}

fn side(pointer: &str, given: Option<&str>) -> Result<OneSide, FieldProblem> {
    let all = || fields::list(OneSide::ALL.iter().map(|one| one.code()));
    fields::coded(pointer, given, OneSide::parse, all)
}

/// Refuses a side of an exercise that has none.
fn one_side(item: &Item, pointer: &str, catalogue: Option<&Catalogue>) -> Result<(), FieldProblem> {
    let exercise = catalogue.and_then(|all| all.get(&item.exercise));
    match (exercise, item.side) {
        (Some(exercise), Some(side)) if !item.has_side_of(exercise) => {
            let fault = FieldProblem::new(pointer, Code::UnknownValue, side.code());
            Err(fault.allowed("left or right, of an exercise that is counted for each side"))
        }
        _ => Ok(()),
    }
}

/// A number that an amount can be.
fn amount(pointer: &str, given: Option<&Number>, allowed: &str) -> Result<Amount, FieldProblem> {
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, allowed))?;
    let written = given.to_string();
    // 12.0 is written so by programs that know no whole numbers.
    let written = written.strip_suffix(".0").unwrap_or(&written);
    let amount = written
        .parse()
        .ok()
        .and_then(|number| Amount::new(number).ok());
    amount
        .ok_or_else(|| FieldProblem::new(pointer, Code::OutOfRange, given.clone()).allowed(allowed))
}

impl LoadBody {
    fn check(&self, at: &str, faults: &mut Faults) -> Option<Weight> {
        let all = || fields::list(MassUnit::ALL.iter().map(|unit| unit.code()));
        let unit = self.unit.as_deref();
        let unit = fields::coded(&format!("{at}/unit"), unit, MassUnit::parse, all);
        let unit = faults.take(unit);
        let pointer = format!("{at}/amount");
        let amount = faults.take(amount(&pointer, self.amount.as_ref(), WEIGHT));
        let weight = Weight::new(amount?, unit?);
        let refused = |_| FieldProblem::new(pointer, Code::OutOfRange, self.amount.clone());
        faults.take(weight.map_err(|error| refused(error).allowed(WEIGHT)))
    }

    pub(super) fn of(weight: Weight) -> Self {
        Self {
            amount: Some(number(weight.amount())),
            unit: Some(weight.unit().code().to_owned()),
        }
    }
}

impl ExtentBody {
    fn check(&self, at: &str, faults: &mut Faults) -> Option<Extent> {
        let all = || fields::list(LengthUnit::ALL.iter().map(|unit| unit.code()));
        let unit = self.unit.as_deref();
        let unit = fields::coded(&format!("{at}/unit"), unit, LengthUnit::parse, all);
        let unit = faults.take(unit);
        let least = amount(&format!("{at}/least"), self.least.as_ref(), EXTENT);
        let least = faults.take(least);
        let most = self.most.as_ref().map(|most| {
            let most = amount(&format!("{at}/most"), Some(most), EXTENT);
            faults.take(most)
        });
        let (unit, least) = (unit?, least?);
        let most = match most {
            None => None,
            Some(most) => Some(most?),
        };
        let extent = Extent::new(least, most, unit);
        let end = if most.is_some() { "most" } else { "least" };
        let given = self.most.clone().or_else(|| self.least.clone());
        let refused = |_| FieldProblem::new(format!("{at}/{end}"), Code::OutOfRange, given.clone());
        faults.take(extent.map_err(|error| refused(error).allowed(EXTENT)))
    }

    pub(super) fn of(extent: Extent) -> Self {
        Self {
            least: Some(number(extent.least())),
            most: extent.most().map(number),
            unit: Some(extent.unit().code().to_owned()),
        }
    }
}

/// An amount as a JSON number: whole where it is whole.
fn number(amount: Amount) -> Number {
    // An amount is written in digits, with a point before at most two more.
    amount
        .to_string()
        .parse()
        .unwrap_or_else(|_| Number::from(0))
}

/// An item as it was sent.
pub(super) fn written(item: &Item) -> ProgrammeItemInput {
    let (mut reps, mut hold, mut seconds, mut distance) = (None, None, None, None);
    match &item.dose {
        Dose::Reps(count, held) => {
            reps = Some(count.get().into());
            hold = held.map(|held| held.get().into());
        }
        Dose::Seconds(count) => seconds = Some(count.get().into()),
        Dose::Distance(legs) => distance = Some(WayBody::of(legs)),
    }
    let (mut load, mut band) = (None, None);
    match &item.against {
        Some(Against::Weight(weight)) => load = Some(LoadBody::of(*weight)),
        Some(Against::Band(name)) => band = Some(name.as_str().to_owned()),
        None => {}
    }
    ProgrammeItemInput {
        exercise: Some(item.exercise.to_string()),
        sets: Some(item.sets.get().into()),
        reps,
        hold_seconds: hold,
        seconds,
        distance,
        side: item.side.map(|side| side.code().to_owned()),
        load,
        band,
        rest_seconds: item.rest.map(|rest| rest.get().into()),
        set_up: item.set_up.map(ExtentBody::of),
        height: item.height.map(ExtentBody::of),
        note: item.note.as_ref().map(|note| note.as_str().to_owned()),
    }
}
