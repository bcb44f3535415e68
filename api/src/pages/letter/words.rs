//! What a letter about a week says: of each squad its counts, never more than the list says.

use plimsoll_domain::IsoWeek;

use super::{Letter, Section};
use crate::routes::weeks::WeeklyListAnswer;
use crate::services::notices::PlannedOver;
use crate::web::figures::CAUTION;

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
        closing: closing(told.club_name),
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

/// What is told on a look ahead, and of which squads.
#[derive(Debug)]
pub(crate) struct Ahead<'a> {
    /// The club's name.
    pub club_name: &'a str,
    /// The running week.
    pub week: IsoWeek,
    /// Each squad's name, how many are or may be over by what is planned, and where its list is.
    pub squads: Vec<(String, PlannedOver, String)>,
}

/// The letter that looks ahead to the end of the running week.
pub(crate) fn look_ahead_letter(ahead: &Ahead<'_>) -> Letter {
    let week = ahead.week;
    let about = match ahead.squads.as_slice() {
        [(name, ..)] => name.clone(),
        squads => format!("{} squads", squads.len()),
    };
    let sunday = week.sunday().strftime("%A %-d %B %Y");
    let section = |(name, over, link): &(String, PlannedOver, String)| Section {
        heading: name.clone(),
        lines: vec![format!(
            "Athletes over a limit of the club's policy by Sunday, if what is planned happens: {} certain, {} possible.",
            over.certain, over.possible
        )],
        link: link.clone(),
    };
    Letter {
        subject: format!("Look ahead {week}, {about}"),
        title: format!("Look ahead, {week}"),
        intro: vec![format!(
            "{}: the week that ends on {sunday}.",
            ahead.club_name
        )],
        sections: ahead.squads.iter().map(section).collect(),
        closing: closing(ahead.club_name),
    }
}

fn closing(club_name: &str) -> Vec<String> {
    vec![
        CAUTION.to_owned(),
        "Each link opens one list, for you alone, and for seven days.".to_owned(),
        why(club_name),
    ]
}

/// Why this mail came.
pub(super) fn why(club_name: &str) -> String {
    format!(
        "{club_name} has named this address for its weekly mail; the club takes it off the list when you ask."
    )
}
