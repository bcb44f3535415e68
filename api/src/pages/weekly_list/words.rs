//! What the weekly list says, line by line: the same on the page and on the printed sheet.

use super::page::Beside;
use crate::pages::told::{au_range, words};
use crate::routes::weeks::{
    Acknowledged, AheadEntry, AuRange, CorrectionNote, MissingSession, MostlyUnlogged, WeeklyEntry,
    WeeklyListAnswer,
};

/// Athletes named under what to ask: asking everybody for everything gets nothing from anybody.
const MOST_ASKED: usize = 3;

/// Headings of the list, by the certainty of what stands under them.
pub(super) const GROUPS: [(&str, &str); 3] = [
    ("certain", "Certain"),
    ("possible", "Possible"),
    ("not_computable", "Not computable"),
];
pub(super) const DECISIONS: &str = "Decisions";
pub(super) const CORRECTED: &str = "Corrected after the close";
pub(super) const ACKNOWLEDGED: &str = "Acknowledged, and not grown since";
pub(super) const AS_A_WHOLE: &str = "The squad as a whole";
pub(super) const NOTHING_LOGGED_BY: &str = "Nothing logged by:";
pub(super) const NOT_LISTED: &str = "Who is not on this list was not found above a limit of the club's policy by what was \
    logged. That says no more than that.";
pub(super) const ASKS: &str = "What to ask whom";
pub(super) const WEEK_AHEAD: &str = "The week ahead";
pub(super) const NOBODY_AHEAD: &str =
    "By what is planned, nobody comes above a limit. Only planned sessions are known.";
pub(super) const A_PLAN: &str =
    "If the sessions happen as planned. A plan is an intention, no logged load.";
pub(super) const ATHLETES: &str = "Athlete by athlete";
pub(super) const MISSING: &str = "Not logged, the entry that matters most first:";
pub(super) const WHAT_FIGURES_ARE: &str = "What these figures are";

pub(super) fn title(answer: &WeeklyListAnswer, beside: &Beside) -> String {
    format!("Weekly list: {}, {}", beside.squad_name, answer.week)
}

/// Which week it is.
pub(super) fn span(answer: &WeeklyListAnswer) -> String {
    let over = match answer.complete {
        true => "",
        false => ". The week is not over: days still to come count as empty",
    };
    let sunday = answer.date.strftime("%A %-d %B %Y");
    format!(
        "The week that ends on {sunday} ({date}){over}.",
        date = answer.date
    )
}

/// When the week was closed.
pub(super) fn closing(answer: &WeeklyListAnswer, beside: &Beside) -> String {
    let Some(at) = answer.closed_at else {
        return "Not closed yet: flags are judged at the close.".to_owned();
    };
    let late = match answer.late {
        Some(true) => ", later than the club's time for it",
        _ => "",
    };
    format!("Closed on {} ({at}){late}.", beside.time(at))
}

/// What was known, and the policy.
pub(super) fn known(answer: &WeeklyListAnswer, beside: &Beside) -> String {
    let policy = match answer.policy_version {
        Some(version) => format!("Club policy, version {version}."),
        None => "No club policy.".to_owned(),
    };
    let at = answer.as_of;
    format!("As known on {} ({at}). {policy}", beside.time(at))
}

/// What was judged otherwise since the close: a line a flag, and which it is.
pub(super) fn corrected(note: &CorrectionNote) -> Vec<(String, String)> {
    let lists = [
        ("Withdrawn", &note.withdrawn),
        ("Raised since", &note.raised),
        ("Judged on other figures", &note.changed),
    ];
    let flags = lists.into_iter().flat_map(|(heading, flags)| {
        flags.iter().map(move |flag| {
            let (name, rule, cause) = (&flag.display_name, words(&flag.rule), words(&flag.cause));
            (
                format!("{heading}: {name}, {rule} ({cause})"),
                format!("Flag {}", flag.flag_id),
            )
        })
    });
    flags.collect()
}

/// When that was judged.
pub(super) fn judged(note: &CorrectionNote, beside: &Beside) -> String {
    format!("Last judged on {} ({}).", beside.time(note.at), note.at)
}

/// What nothing was done about yet, or what has grown since.
pub(super) fn open(answer: &WeeklyListAnswer) -> impl Iterator<Item = &WeeklyEntry> + Clone {
    let entries = answer.entries.iter();
    entries.filter(|entry| entry.acknowledged.is_none())
}

/// What somebody has seen to.
pub(super) fn acknowledged(
    answer: &WeeklyListAnswer,
) -> impl Iterator<Item = (&WeeklyEntry, &Acknowledged)> + Clone {
    let entries = answer.entries.iter();
    entries.filter_map(|entry| Some((entry, entry.acknowledged.as_ref()?)))
}

/// How much of what was expected of the squad is not logged.
pub(super) fn expected(line: &MostlyUnlogged) -> String {
    format!(
        "Sessions expected: {}; not logged: {}.",
        line.expected_sessions, line.unlogged_sessions
    )
}

/// Who is not on the list, counted.
pub(super) fn counts(answer: &WeeklyListAnswer) -> String {
    format!(
        "Not on this list: {}. Sessions expected and nothing logged: {}. Organisations whose sessions are not shared with the \
         club: {}.",
        answer.not_listed, answer.nothing_logged, answer.settings_not_shared
    )
}

/// Whom to ask for what.
pub(super) fn asks(answer: &WeeklyListAnswer) -> Vec<(&WeeklyEntry, &MissingSession)> {
    let asks = open(answer).filter_map(|entry| Some((entry, entry.missing.first()?)));
    asks.take(MOST_ASKED).collect()
}

/// A missing session, and at which load the finding would change.
pub(super) fn ask(missing: &MissingSession, beside: &Beside) -> String {
    let mut said = format!(
        "{} ({}), {}, {} minutes.",
        words(missing.kind),
        words(missing.setting),
        beside.time(missing.starts_at),
        missing.minutes
    );
    if let Some(above) = missing.settles_above_au {
        said += &format!(
            " The finding is certain where the missing sessions come to more than {above} AU together."
        );
    }
    if let Some(up_to) = missing.rules_out_below_au {
        said += &format!(" It is ruled out where they come to {up_to} AU or less.");
    }
    said
}

/// What is planned, and the limit.
pub(super) fn planned(entry: &AheadEntry) -> String {
    format!(
        "Rule: {}. Planned: {} in {} sessions, of them without an intended RPE: {}. Limit: {}. Above it by: {}.",
        words(entry.rule),
        range(entry.planned_au),
        entry.planned_sessions,
        entry.without_intended_rpe,
        range(entry.limit_au),
        range(entry.over_by_au)
    )
}

fn range(range: AuRange) -> String {
    au_range(range.low, range.high)
}

/// Which list it is.
pub(super) fn of_squad(answer: &WeeklyListAnswer) -> String {
    format!("List of squad {}.", answer.squad_id)
}
