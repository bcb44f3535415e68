//! What a letter about a week says: of each squad its counts, never more than the list says.

use plimsoll_domain::IsoWeek;

use super::{Letter, Section};
use crate::routes::weeks::WeeklyListAnswer;

/// What is told, and of which squads.
#[derive(Debug)]
pub(crate) struct Told<'a> {
    /// The club's name.
    pub club_name: &'a str,
    /// The week.
    pub week: IsoWeek,
    /// Whether it is about a correction after the close.
    pub corrected: bool,
    /// Whether athletes may be named.
    pub names: bool,
    /// Each squad's name, its list, and where that is.
    pub squads: Vec<(String, WeeklyListAnswer, String)>,
}

/// The letter about a closed or corrected week.
pub(crate) fn week_letter(told: &Told<'_>) -> Letter {
    let about = match told.squads.as_slice() {
        [(name, _, _)] => name.clone(),
        squads => format!("{} squads", squads.len()),
    };
    let week = told.week;
    let begin = if told.corrected {
        "Corrected: weekly list"
    } else {
        "Weekly list"
    };
    let sunday = week.sunday().strftime("%A %-d %B %Y");
    let late = told
        .squads
        .iter()
        .any(|(_, list, _)| list.late == Some(true));
    let mut intro = vec![format!(
        "{}: the week that ended on {sunday}.",
        told.club_name
    )];
    if late && !told.corrected {
        intro.push("It was closed later than the club's time for it.".to_owned());
    }
    if told.corrected {
        intro.push("What is known of the week has changed since it was closed.".to_owned());
    }
    let sections = told.squads.iter();
    Letter {
        subject: format!("{begin} {week}, {about}"),
        title: format!("{begin}, {week}"),
        intro,
        sections: sections
            .map(|(name, list, link)| Section {
                heading: name.clone(),
                lines: lines(list, told),
                link: link.clone(),
            })
            .collect(),
        closing: closing(told),
    }
}

fn lines(list: &WeeklyListAnswer, told: &Told<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    match &list.correction {
        Some(note) => lines.push(note.sentence.clone()),
        None if told.corrected => lines.push("No flag differs from the close.".to_owned()),
        None => {}
    }
    if let Some(note) = list.note {
        lines.push(note.to_owned());
        return lines;
    }
    let count = |certainty: &str| {
        let entries = list.entries.iter();
        entries.filter(|entry| entry.certainty == certainty).count()
    };
    lines.push(format!(
        "Findings: {} certain, {} possible, {} not computable.",
        count("certain"),
        count("possible"),
        count("not_computable")
    ));
    lines.push(format!(
        "Athletes with sessions expected and nothing logged: {}.",
        list.nothing_logged
    ));
    if list.mostly_unlogged.is_some() {
        lines.push("Most of the sessions expected of the squad are not logged.".to_owned());
    }
    if told.names {
        let entries = list.entries.iter();
        lines.extend(entries.map(|entry| format!("{}: {}", entry.display_name, entry.sentence)));
    }
    lines
}

fn closing(told: &Told<'_>) -> Vec<String> {
    let caution = told.squads.first().map(|(_, list, _)| list.caution);
    let mut closing: Vec<String> = caution.map(str::to_owned).into_iter().collect();
    closing.push("Each link opens one list, for you alone, and for seven days.".to_owned());
    closing.push(why(told.club_name));
    closing
}

/// Why this mail came.
pub(super) fn why(club_name: &str) -> String {
    format!(
        "{club_name} has named this address for its weekly mail; the club takes it off the list when you ask."
    )
}
