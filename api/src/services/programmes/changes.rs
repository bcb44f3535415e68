//! What is different in a programme for one athlete, as it is sent, kept and answered.

use plimsoll_domain::exercises::Catalogue;
use plimsoll_domain::programme::{Change, Changes, ChangesError, Item, ItemNote, Place, Programme};
use serde::{Deserialize, Serialize};
use serde_json::{Number, Value};
use utoipa::ToSchema;

use super::input::weekday;
use super::item::{ProgrammeItemInput, written};
use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};
use crate::web::json::shorten_text;

/// Most changes of an assignment.
pub const MOST_CHANGES: usize = 500;

const ACTIONS: [&str; 3] = ["omit", "replace", "alter"];

/// An item of the programme that is left out, replaced or altered for one athlete.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"week": 3, "day": "tuesday", "session": 1, "item": 2, "change": "alter", "with": {"sets": 2}}))]
pub struct ChangeBody {
    /// The number of the week in the programme.
    #[schema(required = true, value_type = i32, minimum = 1, maximum = 60)]
    pub week: Option<Number>,
    /// monday to sunday.
    #[schema(value_type = String)]
    pub day: Option<String>,
    /// The number of the session on that day; 1 unless given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 3)]
    pub session: Option<Number>,
    /// The number of the item in the session.
    #[schema(required = true, value_type = i32, minimum = 1, maximum = 30)]
    pub item: Option<Number>,
    /// omit leaves it out, replace puts another item in its place, alter changes what `with` names and keeps the rest.
    #[schema(value_type = String)]
    pub change: Option<String>,
    /// The other item, or what is other in it; answered as the whole item. None where it is left out. It has no note but that of the
    /// programme's item.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub with: Option<ProgrammeItemInput>,
}

/// Changes of a programme, checked, and as they are kept.
pub struct CheckedChanges {
    /// The changes.
    pub changes: Changes,
    /// As they are kept and answered: altered items as whole ones.
    pub kept: Vec<ChangeBody>,
}

/// Checks changes of a programme; without a catalogue exercises are not looked up.
pub fn check(
    given: &[ChangeBody],
    programme: &Programme,
    catalogue: Option<&Catalogue>,
    faults: &mut Faults,
) -> Option<CheckedChanges> {
    if given.len() > MOST_CHANGES {
        let fault = FieldProblem::new("/changes", Code::OutOfRange, given.len());
        faults.extend([fault.allowed(format!("at most {MOST_CHANGES} changes"))]);
        return None;
    }
    let checked = given.iter().enumerate();
    let checked: Vec<_> = checked
        .map(|(at, one)| one.check(&format!("/changes/{at}"), programme, catalogue, faults))
        .collect();
    let checked: Vec<(Place, Change)> = checked.into_iter().collect::<Option<_>>()?;
    let kept = given.iter().zip(&checked);
    let kept = kept.map(|(one, (_, change))| one.kept(change)).collect();
    let changes = faults.take(Changes::of(programme, checked).map_err(refused))?;
    Some(CheckedChanges { changes, kept })
}

fn refused(error: ChangesError) -> FieldProblem {
    match error {
        ChangesError::NoSuchItem(at) => no_such_item(&format!("/changes/{at}"), Value::Null),
        ChangesError::Twice(at) => {
            let fault = FieldProblem::new(format!("/changes/{at}"), Code::NotUnique, Value::Null);
            fault.allowed("one change of an item")
        }
    }
}

fn no_such_item(at: &str, given: impl Into<Value>) -> FieldProblem {
    FieldProblem::new(format!("{at}/item"), Code::OutOfRange, given)
        .detail("The programme has no such item.")
        .allowed("the place of an item of the programme")
}

/// A note would be about one athlete here, and what is different for her is not sealed.
fn note_of_her_own(at: &str, note: &ItemNote) -> FieldProblem {
    let given = shorten_text(note.as_str());
    let fault = FieldProblem::new(format!("{at}/note"), Code::UnknownValue, given);
    fault.allowed("the note of the programme's item, or none")
}

impl ChangeBody {
    fn check(
        &self,
        at: &str,
        programme: &Programme,
        catalogue: Option<&Catalogue>,
        faults: &mut Faults,
    ) -> Option<(Place, Change)> {
        let place = self.place(at, faults);
        let all = || fields::list(ACTIONS.into_iter());
        let known = |text: &str| ACTIONS.into_iter().find(|action| *action == text);
        let action = self.change.as_deref();
        let action = fields::coded(&format!("{at}/change"), action, known, all);
        let action = faults.take(action);
        let (place, action) = (place?, action?);
        let Some(item) = programme.item(place) else {
            faults.extend([no_such_item(at, self.item.clone())]);
            return None;
        };
        let under = format!("{at}/with");
        let put = match (action, &self.with) {
            ("omit", None) => return Some((place, Change::Omit)),
            ("omit", Some(_)) => {
                let fault = FieldProblem::new(under, Code::UnknownField, Value::Null);
                faults.extend([fault.allowed("nothing, where the item is left out")]);
                return None;
            }
            (_, None) => {
                faults.extend([FieldProblem::missing(
                    under,
                    "an item, or what is other in it",
                )]);
                return None;
            }
            ("replace", Some(with)) => with.check(&under, catalogue, faults),
            (_, Some(with)) => altered(item, with).check(&under, catalogue, faults),
        };
        if let Some(put) = &put
            && let Some(note) = &put.note
            && put.note != item.note
        {
            faults.extend([note_of_her_own(&under, note)]);
            return None;
        }
        Some((place, Change::Put(put?)))
    }

    fn place(&self, at: &str, faults: &mut Faults) -> Option<Place> {
        let mut number = |field: &str, given: Option<&Number>| {
            let within = |number| {
                u8::try_from(number)
                    .ok()
                    .filter(|number| *number > 0)
                    .ok_or(())
            };
            let pointer = format!("{at}/{field}");
            faults.take(fields::whole_of(
                &pointer,
                given,
                "whole number from 1",
                within,
            ))
        };
        let one = Number::from(1);
        let week = number("week", self.week.as_ref());
        let session = number("session", Some(self.session.as_ref().unwrap_or(&one)));
        let item = number("item", self.item.as_ref());
        let day = faults.take(weekday(&format!("{at}/day"), self.day.as_deref()));
        Some(Place::new(week?, day?, session?, item?))
    }

    fn kept(&self, change: &Change) -> Self {
        Self {
            session: self.session.clone().or_else(|| Some(1.into())),
            with: match change {
                Change::Omit => None,
                Change::Put(item) => Some(written(item)),
            },
            ..self.clone()
        }
    }
}

/// An item with what is other in it. Another dose takes the place of the whole dose, and a load that of a band.
fn altered(item: &Item, with: &ProgrammeItemInput) -> ProgrammeItemInput {
    let mut all = written(item);
    if with.reps.is_some() || with.seconds.is_some() || with.distance.is_some() {
        (all.reps, all.seconds, all.distance, all.hold_seconds) = (None, None, None, None);
    }
    if with.load.is_some() || with.band.is_some() {
        (all.load, all.band) = (None, None);
    }
    let with = with.clone();
    ProgrammeItemInput {
        exercise: with.exercise.or(all.exercise),
        sets: with.sets.or(all.sets),
        reps: with.reps.or(all.reps),
        hold_seconds: with.hold_seconds.or(all.hold_seconds),
        seconds: with.seconds.or(all.seconds),
        distance: with.distance.or(all.distance),
        side: with.side.or(all.side),
        load: with.load.or(all.load),
        band: with.band.or(all.band),
        rest_seconds: with.rest_seconds.or(all.rest_seconds),
        set_up: with.set_up.or(all.set_up),
        height: with.height.or(all.height),
        note: with.note.or(all.note),
    }
}
