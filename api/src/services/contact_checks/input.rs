//! Planned items as they are sent, and their checks.

use plimsoll_domain::contacts::{Exercise, Landing, Reps, Sets, Work};
use plimsoll_domain::exercises::{Catalogue, CatalogueExercise, ExerciseCode};
use plimsoll_domain::measure::{Length, LengthUnit, MeasureError};
use serde::Deserialize;
use serde_json::Number;
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};
use crate::web::json::shorten_text;

pub(crate) const SETS: &str = "whole number from 1 to 10";
pub(crate) const REPS: &str = "whole number from 1 to 50";
pub(crate) const SECONDS: &str = "whole number from 5 to 300";
/// Of repetitions, seconds and a way.
pub(crate) const ONE: &str = "exactly one of reps, seconds and distance";
const MOST_LEGS: usize = 50;

/// A planned item: an exercise of the catalogue or one described here, how often, and exactly one of `reps`, `seconds` and `distance`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"exercise": "hurdle_hop_both_feet", "sets": 4, "reps": 5}))]
pub struct ItemInput {
    /// The code of an exercise of the catalogue.
    pub exercise: Option<String>,
    /// An exercise that is in no catalogue.
    pub inline: Option<InlineInput>,
    /// Sets or rounds.
    #[schema(required = true, value_type = i32, minimum = 1, maximum = 10)]
    pub sets: Option<Number>,
    /// Repetitions in a set, for each side in exercises on one leg.
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 50)]
    pub reps: Option<Number>,
    /// Seconds of a set.
    #[schema(value_type = Option<i32>, minimum = 5, maximum = 300)]
    pub seconds: Option<Number>,
    /// The way of a set.
    pub distance: Option<DistanceInput>,
    /// left or right, of an exercise on one leg that is done on that leg alone.
    pub side: Option<String>,
    /// Whether a load is carried; as the exercise says unless given.
    pub loaded: Option<bool>,
}

/// How an exercise lands that is in no catalogue.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"landing": "both_feet", "hands": 0}))]
pub struct InlineInput {
    /// none, both_feet, each_foot, left_foot or right_foot; null where that is not known.
    pub landing: Option<String>,
    /// Landings on a hand in a repetition; 0 unless given.
    #[schema(value_type = Option<i32>, minimum = 0, maximum = 10)]
    pub hands: Option<Number>,
}

/// The way of a set in legs, positive out and negative back; null is not measured.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"legs": [15, -15], "unit": "m", "returns_to_start": true}))]
pub struct DistanceInput {
    /// Lengths of the legs in whole units, 50 at most.
    #[schema(required = true, value_type = Vec<Option<i32>>)]
    pub legs: Option<Vec<Option<Number>>>,
    /// m, cm, yd, ft or in.
    #[schema(value_type = String)]
    pub unit: Option<String>,
    /// Whether the legs end where they began; false unless given.
    pub returns_to_start: Option<bool>,
}

/// An item, checked.
#[derive(Debug, Clone)]
pub struct Item {
    /// The exercise of the catalogue, where it is one.
    pub exercise: Option<CatalogueExercise>,
    /// What is counted.
    pub planned: Exercise,
}

impl ItemInput {
    /// Checks an item at a place of the list.
    pub(super) fn check(
        &self,
        at: &str,
        catalogue: &Catalogue,
        faults: &mut Faults,
    ) -> Option<Item> {
        let described = self.described(at, catalogue, faults);
        let sets = faults.take(fields::whole_of(
            &format!("{at}/sets"),
            self.sets.as_ref(),
            SETS,
            Sets::new,
        ));
        let work = self.work(at, faults);
        let (exercise, landing, hands, loaded) = described?;
        let landing = faults.take(self.on_side(at, landing))?;
        Some(Item {
            exercise,
            planned: Exercise {
                sets: sets?,
                work: work?,
                landing,
                hands,
                loaded: self.loaded.unwrap_or(loaded),
            },
        })
    }

    fn described(
        &self,
        at: &str,
        catalogue: &Catalogue,
        faults: &mut Faults,
    ) -> Option<(Option<CatalogueExercise>, Option<Landing>, u8, bool)> {
        match (&self.exercise, &self.inline) {
            (Some(code), None) => {
                let known = ExerciseCode::parse(code).ok();
                let known = known.and_then(|code| catalogue.get(&code)).cloned();
                let unknown = || {
                    let pointer = format!("{at}/exercise");
                    FieldProblem::new(pointer, Code::UnknownExercise, shorten_text(code))
                        .allowed("the code of an exercise of the catalogue")
                };
                let one = faults.take(known.ok_or_else(unknown))?;
                let (landing, hands, loaded) = (one.landing, one.hands, one.loaded);
                Some((Some(one), landing, hands, loaded))
            }
            (None, Some(inline)) => {
                let (landing, hands) = inline.check(at, faults)?;
                Some((None, landing, hands, false))
            }
            (None, None) => {
                let one = "one of exercise and inline";
                faults.extend([FieldProblem::missing(format!("{at}/exercise"), one)]);
                None
            }
            (Some(code), Some(_)) => {
                let pointer = format!("{at}/exercise");
                let fault = FieldProblem::new(pointer, Code::AmbiguousExercise, shorten_text(code));
                faults.extend([fault.allowed("one of exercise and inline")]);
                None
            }
        }
    }

    /// Exactly one of repetitions, seconds and distance.
    fn work(&self, at: &str, faults: &mut Faults) -> Option<Work> {
        match (&self.reps, &self.seconds, &self.distance) {
            (Some(reps), None, None) => {
                let reps = fields::whole_of(&format!("{at}/reps"), Some(reps), REPS, Reps::new);
                faults.take(reps).map(Work::Reps)
            }
            (None, Some(seconds), None) => {
                let within = |seconds: i64| match seconds {
                    5..=300 => Ok(Work::Time),
                    _ => Err(()),
                };
                faults.take(fields::whole_of(
                    &format!("{at}/seconds"),
                    Some(seconds),
                    SECONDS,
                    within,
                ))
            }
            (None, None, Some(distance)) => {
                let way = distance.check(&format!("{at}/distance"), faults);
                way.map(Work::Distance)
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

    /// The landing on the side that is named.
    fn on_side(&self, at: &str, landing: Option<Landing>) -> Result<Option<Landing>, FieldProblem> {
        let Some(side) = self.side.as_deref() else {
            return Ok(landing);
        };
        let one = match side {
            "left" => Some(Landing::LeftFoot),
            "right" => Some(Landing::RightFoot),
            _ => None,
        };
        let fits = landing.is_none_or(|landing| landing == Landing::EachFoot);
        match one.filter(|_| fits) {
            Some(one) => Ok(landing.map(|_| one)),
            None => {
                let fault =
                    FieldProblem::new(format!("{at}/side"), Code::UnknownValue, shorten_text(side));
                Err(fault.allowed("left or right, of an exercise that lands each_foot"))
            }
        }
    }
}

impl InlineInput {
    fn check(&self, at: &str, faults: &mut Faults) -> Option<(Option<Landing>, u8)> {
        let read = |pointer: &str, given: Option<&str>| {
            let all = || fields::list(Landing::ALL.iter().map(|one| one.code()));
            fields::coded(pointer, given, Landing::parse, all)
        };
        let pointer = format!("{at}/inline/landing");
        let landing = fields::optional(&pointer, self.landing.as_deref(), read);
        let landing = faults.take(landing);
        let within = |hands: i64| {
            u8::try_from(hands)
                .ok()
                .filter(|hands| *hands <= 10)
                .ok_or(())
        };
        let zero = Number::from(0);
        let hands = self.hands.as_ref().unwrap_or(&zero);
        let pointer = format!("{at}/inline/hands");
        let hands = faults.take(fields::whole_of(
            &pointer,
            Some(hands),
            "whole number from 0 to 10",
            within,
        ));
        Some((landing?, hands?))
    }
}

impl DistanceInput {
    /// The whole way; `None` in it where a leg is not measured.
    fn check(&self, at: &str, faults: &mut Faults) -> Option<Option<Length>> {
        let all = || fields::list(LengthUnit::ALL.iter().map(|unit| unit.code()));
        let unit = self.unit.as_deref();
        let unit = fields::coded(&format!("{at}/unit"), unit, LengthUnit::parse, all);
        let unit = faults.take(unit);
        let legs = self.legs.as_deref().unwrap_or_default();
        if !(1..=MOST_LEGS).contains(&legs.len()) {
            let fault = FieldProblem::new(format!("{at}/legs"), Code::OutOfRange, legs.len());
            faults.extend([fault.allowed(format!("1 to {MOST_LEGS} legs"))]);
            return None;
        }
        let (unit, mut way, mut net) = (unit?, Some(Length::default()), Some(0));
        for (place, leg) in legs.iter().enumerate() {
            let Some(leg) = leg else {
                (way, net) = (None, None);
                continue;
            };
            let pointer = format!("{at}/legs/{place}");
            let length = |signed: i64| match signed.unsigned_abs() {
                0 => Err(MeasureError),
                length => i64::try_from(length)
                    .map_err(|_| MeasureError)
                    .and_then(|length| unit.of(length))
                    .map(|length| (signed, length)),
            };
            let allowed = "whole number, not 0, up to 1,000 km; negative back; null not measured";
            let (signed, length) =
                faults.take(fields::whole_of(&pointer, Some(leg), allowed, length))?;
            way = way.map(|way| [way, length].into_iter().sum());
            net = net.map(|net: i64| net + signed);
        }
        if self.returns_to_start == Some(true) && net.is_some_and(|net| net != 0) {
            let fault = FieldProblem::new(format!("{at}/legs"), Code::NotBackAtStart, net);
            faults.extend([fault.allowed("legs whose sum is 0")]);
            return None;
        }
        Some(way)
    }
}
