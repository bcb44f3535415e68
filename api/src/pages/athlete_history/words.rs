//! What a history says in sentences, the same on its page and on its sheet.

use jiff::tz::TimeZone;

use super::tables::span;
use crate::pages::told::{time, words};
use crate::routes::history::{
    Away, BeforeAbsence, CurrentRestriction, FlagOfHistory, HistoryAnswer, HurtSide, NotIncluded,
    RecordedDecision, SaidOfPain, SignedOff,
};

pub(super) const NO_RESTRICTION: &str =
    "No restriction is entered. That is no statement that nothing is the matter.";
pub(super) const NOT_KNOWN: &str = "What is not known";
pub(super) const ABSENCE: &str = "The absence, and what is back since";
pub(super) const NO_ABSENCE: &str = "No absence of seven days or more in the span.";
pub(super) const LOADS: &str = "Load by week";
pub(super) const NO_DAY: &str = "No day of the span lies in the membership.";
pub(super) const TESTS: &str = "Tests of both sides";
pub(super) const NO_INJURY: &str = "No injury is entered.";
pub(super) const NO_TEST: &str = "No test in the span.";
pub(super) const DECISION: &str = "Decision";
pub(super) const FLAGS: &str = "Flags of the club's policy";
pub(super) const NO_FLAG: &str = "No flag in the span.";
pub(super) const WHAT_THIS_IS: &str = "What this is";

pub(super) fn title(answer: &HistoryAnswer) -> String {
    format!("History: {}", answer.display_name)
}

pub(super) fn asked(answer: &HistoryAnswer) -> String {
    let (from, to) = (answer.span.from, answer.span.to);
    let (role, purpose) = (words(answer.asked_by.role), words(answer.purpose));
    format!("{from} to {to}, asked for by the {role}: {purpose}.")
}

pub(super) fn known(answer: &HistoryAnswer, zone: &TimeZone) -> String {
    let (there, as_of) = (time(zone, answer.as_of), answer.as_of);
    let policy = match answer.policy_version {
        Some(version) => format!("Club policy, version {version}."),
        None => "No club policy.".to_owned(),
    };
    format!("As known on {there} ({as_of}). {policy}")
}

pub(super) fn limits(answer: &HistoryAnswer) -> String {
    format!("Limits on {}", answer.today)
}

/// What follows the instruction of a restriction.
pub(super) fn since(one: &CurrentRestriction) -> String {
    let until = one.until.map(|until| format!(", to {until}"));
    let (availability, until) = (words(one.availability), until.unwrap_or_default());
    format!(
        "{availability}, since {}{until}; review on {}.",
        one.from, one.review_date
    )
}

/// How much is not known of the sessions.
pub(super) fn unlogged(answer: &HistoryAnswer) -> String {
    let unknown = &answer.not_known;
    let names = unknown.not_shared.iter().map(|one| &*one.organisation);
    let names = names.collect::<Vec<_>>().join(", ");
    let names = if names.is_empty() {
        names
    } else {
        format!(" ({names})")
    };
    format!(
        "Sessions expected and not logged: {}. Organisations whose sessions are not shared with the club: {}{names}.",
        unknown.unlogged_sessions, unknown.settings_not_shared
    )
}

/// Of which days, and how far that moves the load.
pub(super) fn days(answer: &HistoryAnswer) -> String {
    let unknown = &answer.not_known;
    let days = unknown.days.iter();
    let days: Vec<_> = days
        .map(|state| format!("{} {}", words(state.state), state.days))
        .collect();
    format!(
        "Nothing is known of the days before {}. Load of the span: {}. Days: {}.",
        unknown.member_since,
        span(unknown.span_au),
        days.join("; ")
    )
}

pub(super) fn left_out(one: &NotIncluded) -> String {
    format!("{}: {}", words(one.what), one.why)
}

pub(super) fn absence(answer: &HistoryAnswer) -> String {
    match &answer.absence {
        Some(away) => format!(
            "Away from {} to {}, {} days.",
            away.from, away.to, away.days
        ),
        None => NO_ABSENCE.to_owned(),
    }
}

/// The absences as they were entered; nothing where there are none.
pub(super) fn entered(absences: &[Away]) -> Option<String> {
    let entered = absences.iter().map(|away| {
        let category = words(away.category);
        format!("{} to {}, {category}", away.from, away.to)
    });
    let entered: Vec<_> = entered.collect();
    (!entered.is_empty()).then(|| format!("Entered: {}.", entered.join("; ")))
}

pub(super) fn before(before: &BeforeAbsence) -> String {
    match before.chronic_au_week {
        Some(au) => {
            let weeks = before.weeks.join(" ");
            format!("Mean week before it: {au} AU, of the weeks {weeks}.")
        }
        None => {
            let why = before.reason.map(|reason| format!(" ({})", words(reason)));
            let why = why.unwrap_or_default();
            format!("The mean week before it cannot be told{why}.")
        }
    }
}

pub(super) fn injury(injury: &HurtSide) -> String {
    let surgery = injury.surgery_on;
    let surgery = surgery.map(|surgery| format!("; surgery {surgery}"));
    let surgery = surgery.unwrap_or_default();
    format!("Injured: {}, {}{surgery}.", injury.side, injury.injured_on)
}

pub(super) const PAIN: &str = "What she said about pain";
/// Said where she said nothing; where it may not be read that stands under what is not known.
pub(super) fn no_pain(answer: &HistoryAnswer) -> Option<&'static str> {
    let mut left_out = answer.not_included.iter();
    let is_withheld = left_out.any(|one| one.what == "pain_reports");
    (answer.pain_reports.is_empty() && !is_withheld)
        .then_some("About pain nothing is entered; that does not say that nothing hurts.")
}

/// What she said on a day.
pub(super) fn pain(said: &SaidOfPain) -> String {
    let side = said
        .side
        .map(|side| format!(", {side}"))
        .unwrap_or_default();
    match said.area {
        Some(area) => format!("{}: {}{side}.", said.date, words(area)),
        None => format!("{}: nothing hurts.", said.date),
    }
}

/// Techniques in one paragraph, so that a long row of steps still finds room on the sheet.
pub(super) fn technique(all: &[SignedOff]) -> String {
    if all.is_empty() {
        return "No technique is signed off.".to_owned();
    }
    let told: Vec<String> = all.iter().map(signed_off).collect();
    format!(
        "Technique signed off by who watched, which clears nobody: {}.",
        told.join(". ")
    )
}

fn signed_off(one: &SignedOff) -> String {
    let (state, role) = (words(one.state), words(&one.by_role));
    let next = one.next.iter().map(|next| format!("; next: {next}"));
    let next: String = next.collect();
    format!(
        "{} {}, by the {role}, {state}{next}",
        one.signed_on, one.exercise
    )
}

pub(super) fn trials(answer: &HistoryAnswer) -> String {
    format!("A result stands for the {} of its trials.", answer.trials)
}

pub(super) fn newest(decision: Option<&str>) -> String {
    match decision {
        Some(decision) => format!("The newest on record: {}.", words(decision)),
        None => "None is on record.".to_owned(),
    }
}

pub(super) fn decided(one: &RecordedDecision) -> String {
    format!(
        "{}: {}, {}. {}, {}; document {}",
        one.decided_on,
        words(one.decision),
        one.scope,
        one.name,
        one.licence_type,
        one.document_reference
    )
}

pub(super) fn flag(flag: &FlagOfHistory) -> String {
    let week = flag.week.iter().map(|week| format!("{week}: "));
    let week: String = week.collect();
    let action = flag.action.iter().map(|action| words(action));
    let action: String = action.map(|action| format!("; done: {action}")).collect();
    let (rule, certainty, state) = (words(&flag.rule), words(flag.certainty), words(flag.state));
    format!("{week}{rule}, {certainty}, {state}{action}")
}
