//! A way in legs as it is sent, and its checks.

use plimsoll_domain::measure::LengthUnit;
use plimsoll_domain::programme::{Direction, Leg, Legs, LegsError};
use serde::{Deserialize, Serialize};
use serde_json::{Number, Value};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};
use crate::web::object;

const LEG: &str = "whole number from 1 to 10000, measured";

/// The way of a set in legs, each in a direction as seen at the start.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"legs": [{"direction": "forward", "length": 15}, {"direction": "back", "length": 15}], "unit": "m",
    "returns_to_start": true}))]
pub struct WayBody {
    /// Its legs, 1 to 50, each measured.
    #[serde(
        default,
        deserialize_with = "object::list_at_most::<{ Legs::MOST }, _, _>"
    )]
    #[schema(required = true, min_items = 1, max_items = 50)]
    pub legs: Vec<LegBody>,
    /// m, cm, yd, ft or in.
    #[schema(value_type = String)]
    pub unit: Option<String>,
    /// Whether it ends where it began; false unless given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub returns_to_start: Option<bool>,
}

/// A leg of a way.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"direction": "forward", "length": 15}))]
pub struct LegBody {
    /// forward, back, left or right.
    #[schema(value_type = String)]
    pub direction: Option<String>,
    /// How many of the unit.
    #[schema(required = true, value_type = i32, minimum = 1, maximum = 10000)]
    pub length: Option<Number>,
}

impl WayBody {
    pub(super) fn check(&self, at: &str, faults: &mut Faults) -> Option<Legs> {
        let all = || fields::list(LengthUnit::ALL.iter().map(|unit| unit.code()));
        let unit = self.unit.as_deref();
        let unit = fields::coded(&format!("{at}/unit"), unit, LengthUnit::parse, all);
        let unit = faults.take(unit);
        let legs = (0..).zip(&self.legs);
        let legs: Vec<_> = legs
            .map(|(place, leg): (usize, _)| leg.check(&format!("{at}/legs/{place}"), faults))
            .collect();
        let legs: Option<Vec<Leg>> = legs.into_iter().collect();
        let returns = self.returns_to_start.unwrap_or(false);
        let way = Legs::new(legs?, unit?, returns);
        faults.take(way.map_err(|error| self.refused(at, error)))
    }

    fn refused(&self, at: &str, error: LegsError) -> FieldProblem {
        let pointer = format!("{at}/legs");
        match error {
            LegsError::Count if self.legs.is_empty() => {
                let fault = FieldProblem::new(pointer, Code::DistanceNotMeasured, Value::Null);
                fault.allowed(format!("1 to {} legs, each a {LEG}", Legs::MOST))
            }
            LegsError::Count => {
                let fault = FieldProblem::new(pointer, Code::OutOfRange, self.legs.len());
                fault.allowed(format!("1 to {} legs", Legs::MOST))
            }
            LegsError::Leg { at: place } => {
                let pointer = format!("{pointer}/{place}/length");
                FieldProblem::new(pointer, Code::OutOfRange, Value::Null).allowed(LEG)
            }
            LegsError::NotBack { forward, right } => {
                let fault = FieldProblem::new(
                    pointer,
                    Code::NotBackAtStart,
                    serde_json::json!({ "forward": forward, "right": right }),
                );
                fault.allowed("as much back as forward, and as much to the left as to the right")
            }
        }
    }

    pub(super) fn of(way: &Legs) -> Self {
        let leg = |leg: &Leg| LegBody {
            direction: Some(leg.direction.code().to_owned()),
            length: Some(leg.count.into()),
        };
        Self {
            legs: way.legs().iter().map(leg).collect(),
            unit: Some(way.unit().code().to_owned()),
            returns_to_start: way.returns_to_start().then_some(true),
        }
    }
}

impl LegBody {
    fn check(&self, at: &str, faults: &mut Faults) -> Option<Leg> {
        let all = || fields::list(Direction::ALL.iter().map(|one| one.code()));
        let direction = self.direction.as_deref();
        let pointer = format!("{at}/direction");
        let direction = fields::coded(&pointer, direction, Direction::parse, all);
        let direction = faults.take(direction);
        let pointer = format!("{at}/length");
        let Some(length) = &self.length else {
            let fault = FieldProblem::new(pointer, Code::DistanceNotMeasured, Value::Null);
            faults.extend([fault.allowed(LEG)]);
            return None;
        };
        let within = |length| match u16::try_from(length) {
            Ok(length @ 1..=Legs::LONGEST) => Ok(length),
            _ => Err(()),
        };
        let count = faults.take(fields::whole_of(&pointer, Some(length), LEG, within));
        Some(Leg {
            direction: direction?,
            count: count?,
        })
    }
}
