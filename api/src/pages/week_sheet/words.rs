//! What page and sheet say in the same words. What is not known is left out, or is a line to write on.

use super::Beside;
use crate::pages::told;
use crate::services::programmes::assigned::{AssignedAnswer, AssignedItem, AssignedSession};
use crate::services::programmes::{ExtentBody, ProgrammeItem, WayBody};

/// What ends a session. Common practice, no source.
pub(super) const STOP: &str = "Pain, a head knock, fainting, breathlessness out of proportion, heat illness or swelling ends the session, \
    whatever is written here. Stop, and tell an adult who is there; a licensed clinician decides under local rules. In an emergency call \
    the local emergency number: this sheet reaches nobody.";
/// To be filled in by hand: the service keeps no telephone numbers.
pub(super) const TO_CALL: &str =
    "To call: ________________________________  ________________________________";
pub(super) const NOTHING: &str = "No programme has a session in these days.";
/// The wording of the question and its time are those of the session RPE: Foster C, et al. (2001) J Strength Cond Res 15(1):109-115.
pub(super) const QUESTION: &str =
    "How hard was the whole session, 0 to 10? Ask yourself 10 to 30 minutes after it.";
pub(super) const TO_FILL: &str =
    "☐ Done   How hard, 0 to 10: ______   Minutes: ______   Date, if another: ____________";
pub(super) const WHERE_TO_LOG: &str = "Log it in the club's app: the number and the minutes. Late is fine, and it can be changed. A session \
    that was not done, or cut short, is as good an answer: say so there too. What is written on this sheet alone reaches nobody.";
pub(super) const EXERCISES: &str = "The exercises";
pub(super) const KEEP_IN_MIND: &str = "Keep in mind";
/// Casa DJ, Csillan D, et al. (2009) J Athl Train 44(3):332-333.
pub(super) const HEAT: &str = "Heat: a published recommendation for the first 14 days of training in it allows one practice a day and at \
    most 3 hours in all on days 1 to 5; local rules come first (Casa DJ, Csillan D, et al. (2009) J Athl Train 44(3):332-333).";

pub(super) fn title(answer: &AssignedAnswer, beside: &Beside) -> String {
    let (from, to) = (answer.from, answer.to);
    format!("Week sheet: {}, {from} to {to}", beside.display_name)
}

/// As of when; a sheet on paper does not follow what changes.
pub(super) fn known(beside: &Beside) -> String {
    let at = beside.as_of;
    let told = told::time(&beside.zone, at);
    format!("As known on {told} ({at}). What changes later is not on this paper.")
}

/// A session's date and what it is called.
pub(super) fn heading(one: &AssignedSession) -> String {
    let date = one.date.strftime("%A %-d %B %Y");
    match &one.session.name {
        Some(name) => format!("{date}: {name}"),
        None => format!("{date}: {}", told::words(one.session.kind)),
    }
}

/// What is said of a session; what is not said is left out.
pub(super) fn session(one: &AssignedSession) -> String {
    let session = &one.session;
    let said = [
        Some(told::words(session.setting)),
        Some(told::words(session.kind)),
        session
            .start
            .as_ref()
            .map(|start| format!("starts {start}")),
        session.minutes.map(|minutes| format!("{minutes} minutes")),
        session
            .intended_rpe
            .map(|rpe| format!("intended RPE {rpe}")),
        Some(format!("week {} of “{}”", one.week, one.programme)),
    ];
    let said: Vec<String> = said.into_iter().flatten().collect();
    format!("{}.", said.join(", "))
}

/// Sets, and what each is.
pub(super) fn dose(one: &AssignedItem) -> String {
    let item = &one.item;
    let side = match (item.side, one.sides) {
        (Some(side), _) => format!(", {side} side only"),
        (None, Some("each")) => ", each side".to_owned(),
        _ => String::new(),
    };
    format!("{} x {}{side}", item.sets, set(item))
}

/// What a set is.
fn set(item: &ProgrammeItem) -> String {
    if let Some(way) = &item.distance {
        return legs(way);
    }
    if let Some(seconds) = item.seconds {
        return format!("{seconds} s");
    }
    let reps = item.reps.unwrap_or_default();
    match item.hold_seconds {
        Some(held) => format!("{reps}, each held {held} s"),
        None => reps.to_string(),
    }
}

fn legs(way: &WayBody) -> String {
    let unit = way.unit.as_deref().unwrap_or_default();
    let leg = way.legs.iter().map(|leg| {
        let direction = leg.direction.as_deref().unwrap_or_default();
        let length = leg.length.as_ref().map(ToString::to_string);
        format!("{direction} {} {unit}", length.unwrap_or_default())
    });
    let legs = leg.collect::<Vec<_>>().join(", ");
    match way.returns_to_start {
        Some(true) => format!("({legs}; back at the start)"),
        _ => format!("({legs})"),
    }
}

/// The load or the band as entered; nothing where nothing was said.
pub(super) fn load(item: &ProgrammeItem) -> String {
    let load = item.load.as_ref().and_then(|load| {
        let (amount, unit) = (load.amount.as_ref()?, load.unit.as_deref()?);
        Some(format!("{amount}\u{a0}{unit}"))
    });
    let band = item.band.as_ref().map(|band| format!("band: {band}"));
    load.or(band).unwrap_or_default()
}

/// The rest after a set; nothing where nothing was said.
pub(super) fn rest(item: &ProgrammeItem) -> String {
    let rest = item.rest_seconds.map(|seconds| format!("{seconds}\u{a0}s"));
    rest.unwrap_or_default()
}

/// What stands under an exercise's name: what keeps it from being done, what to look out for, how it is set up, and what the coach adds.
pub(super) fn below(one: &AssignedItem) -> Vec<String> {
    let set_up = one.item.set_up.as_ref().map(extent);
    let height = one.item.height.as_ref().map(extent);
    let lines = [
        one.mark.clone(),
        one.caution.as_ref().map(|said| format!("Look out: {said}")),
        set_up.map(|apart| format!("Set up {apart} apart.")),
        height.map(|high| format!("{high} high.")),
        one.item.note.clone(),
    ];
    lines.into_iter().flatten().collect()
}

fn extent(extent: &ExtentBody) -> String {
    let number = |number: &Option<serde_json::Number>| number.as_ref().map(ToString::to_string);
    let unit = extent.unit.as_deref().unwrap_or_default();
    match (number(&extent.least), number(&extent.most)) {
        (Some(least), Some(most)) if least != most => format!("{least} to {most} {unit}"),
        (least, _) => format!("{} {unit}", least.unwrap_or_default()),
    }
}

/// A box to tick for each set.
pub(super) fn boxes(item: &ProgrammeItem) -> String {
    vec!["☐"; usize::from(item.sets)].join(" ")
}

/// What the code of a film is of.
pub(super) fn film_of(name: &str) -> String {
    format!("QR code of the club's film of {name}")
}
