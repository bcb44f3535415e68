//! Counts of a session as they are sent, and their checks.

use plimsoll_domain::{Count, CountBasis, Landings, SessionCounts};
use serde::Deserialize;
use serde_json::Number;
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem, Problem};
use crate::services::fields::{self, Faults};

/// What a count may be.
const COUNT: &str = "whole number from 0 to 1000";

/// What was counted in a session: landings, throws or both. What is null or left out was not counted, which is never 0.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "landings": {"both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24}, "throws": 80, "basis": "counted"}))]
pub struct SessionContactsInput {
    /// Landings.
    pub landings: Option<LandingsInput>,
    /// Throws.
    #[schema(value_type = Option<i32>, minimum = 0, maximum = 1000)]
    pub throws: Option<Number>,
    /// counted, or estimated as from a part of the session.
    #[schema(value_type = String)]
    pub basis: Option<String>,
}

/// Landings counted in a session; a landing on both feet is one.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24}))]
pub struct LandingsInput {
    /// On both feet.
    #[schema(required = true, value_type = i32, minimum = 0, maximum = 1000)]
    pub both_feet: Option<Number>,
    /// On the left foot alone.
    #[schema(required = true, value_type = i32, minimum = 0, maximum = 1000)]
    pub left_foot: Option<Number>,
    /// On the right foot alone.
    #[schema(required = true, value_type = i32, minimum = 0, maximum = 1000)]
    pub right_foot: Option<Number>,
    /// How many of those on feet were under load; not more than they are.
    #[schema(value_type = Option<i32>, minimum = 0, maximum = 3000)]
    pub loaded: Option<Number>,
    /// On hands.
    #[schema(value_type = Option<i32>, minimum = 0, maximum = 1000)]
    pub hands: Option<Number>,
}

impl SessionContactsInput {
    /// The counts, every fault collected.
    ///
    /// # Errors
    /// 422 with every field at fault.
    pub fn check(&self) -> Result<SessionCounts, Problem> {
        let mut faults = Faults::default();
        let landings = self.landings.as_ref();
        let landings = landings.and_then(|landings| landings.check("/landings", &mut faults));
        let throws = faults.take(optional("/throws", self.throws.as_ref()));
        let codes = || fields::list(CountBasis::ALL.iter().map(|basis| basis.code()));
        let basis = self.basis.as_deref();
        let basis = faults.take(fields::coded("/basis", basis, CountBasis::parse, codes));
        if self.landings.is_none() && self.throws.is_none() {
            faults.extend([FieldProblem::missing(
                "/landings",
                "landings, throws or both",
            )]);
        }
        let counts = throws
            .zip(basis)
            .and_then(|(throws, basis)| SessionCounts::new(landings, throws, basis));
        faults.settle(counts)
    }
}

impl LandingsInput {
    /// Checks landings that stand at a pointer.
    pub fn check(&self, at: &str, faults: &mut Faults) -> Option<Landings> {
        let under = |field: &str| format!("{at}/{field}");
        let both = faults.take(required(&under("both_feet"), self.both_feet.as_ref()));
        let left = faults.take(required(&under("left_foot"), self.left_foot.as_ref()));
        let right = faults.take(required(&under("right_foot"), self.right_foot.as_ref()));
        let hands = faults.take(optional(&under("hands"), self.hands.as_ref()));
        // Without the others nobody can say how many may be under load.
        let (feet, hands) = ([both?, left?, right?], hands?);
        faults.take(landings(at, feet, self.loaded.as_ref(), hands))
    }
}

fn landings(
    at: &str,
    feet: [Count; 3],
    loaded: Option<&Number>,
    hands: Option<Count>,
) -> Result<Landings, FieldProblem> {
    // What is no whole number is as far out of range as one below 0.
    let whole = loaded.map(|loaded| fields::whole(loaded).unwrap_or(-1));
    Landings::new(feet, whole, hands).map_err(|_| {
        let on_feet: u32 = feet.iter().map(|count| count.get()).sum();
        let given = loaded.cloned().unwrap_or_else(|| Number::from(0));
        FieldProblem::new(format!("{at}/loaded"), Code::OutOfRange, given).allowed(format!(
            "whole number from 0 to {on_feet}, the landings on feet"
        ))
    })
}

fn required(pointer: &str, given: Option<&Number>) -> Result<Count, FieldProblem> {
    optional(pointer, given)?.ok_or_else(|| FieldProblem::missing(pointer, COUNT))
}

fn optional(pointer: &str, given: Option<&Number>) -> Result<Option<Count>, FieldProblem> {
    let count = |given: &Number| {
        let count = fields::whole(given).and_then(|whole| Count::new(whole).ok());
        let fault = || FieldProblem::new(pointer, Code::OutOfRange, given.clone()).allowed(COUNT);
        count.ok_or_else(fault)
    };
    given.map(count).transpose()
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    fn check(body: Value) -> Result<SessionCounts, Vec<String>> {
        let input: SessionContactsInput = serde_json::from_value(body).unwrap();
        input.check().map_err(|problem| {
            let faults = problem.errors.iter();
            let told = faults.map(|fault| format!("{} {}", fault.pointer, fault.code.code()));
            told.collect()
        })
    }

    fn with(field: &str, value: Value) -> Result<SessionCounts, Vec<String>> {
        let mut landings = json!({ "both_feet": 2, "left_foot": 1, "right_foot": 0 });
        landings[field] = value;
        check(json!({ "landings": landings, "basis": "counted" }))
    }

    #[test]
    fn null_is_not_counted() {
        let throws = check(json!({ "landings": null, "throws": 0, "basis": "estimated" })).unwrap();
        assert_eq!((throws.on_feet(), throws.throws()), (None, Some(0)));
        let landings = with("hands", Value::Null).unwrap().landings().unwrap();
        assert_eq!((landings.loaded(), landings.hands()), (None, None));
        assert_eq!(
            with("loaded", json!(3.0))
                .unwrap()
                .landings()
                .unwrap()
                .loaded(),
            Some(3)
        );
    }

    #[test]
    fn every_fault_is_named() {
        let nothing = check(json!({ "basis": "counted" }));
        assert_eq!(nothing, Err(vec!["/landings missing_field".to_owned()]));
        let body = json!({
            "landings": { "both_feet": 1001, "left_foot": -1, "hands": 2.5 }, "throws": 1e9, "basis": "guessed",
        });
        let faults = [
            "/landings/both_feet out_of_range",
            "/landings/left_foot out_of_range",
            "/landings/right_foot missing_field",
            "/landings/hands out_of_range",
            "/throws out_of_range",
            "/basis unknown_value",
        ];
        assert_eq!(check(body), Err(faults.map(str::to_owned).into()));
        assert_eq!(
            check(json!({ "throws": 1 })),
            Err(vec!["/basis missing_field".to_owned()])
        );
        for loaded in [json!(4), json!(-1), json!(0.5)] {
            let fault = "/landings/loaded out_of_range".to_owned();
            assert_eq!(with("loaded", loaded), Err(vec![fault]));
        }
    }
}
