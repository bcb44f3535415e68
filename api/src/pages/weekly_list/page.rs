//! The weekly list as a page: who needs a decision, whom to ask for what, then athlete by athlete.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};

use super::{figures, plot};
use crate::ids::AthleteId;
use crate::pages::html::document;
use crate::routes::weeks::{MissingSession, WeeklyEntry, WeeklyListAnswer};
use crate::services::plot_weeks::PlotWeek;

/// Athletes named under what to ask: asking everybody for everything gets nothing from anybody.
const MOST_ASKED: usize = 3;

/// What the page shows beside the answer.
#[derive(Debug)]
pub struct Beside {
    /// The squad's name.
    pub squad_name: String,
    /// The club's zone, in which times are told.
    pub zone: TimeZone,
    /// The members' names and last weeks.
    pub members: BTreeMap<AthleteId, (String, Vec<PlotWeek>)>,
}

impl Beside {
    fn weeks(&self, athlete: AthleteId) -> &[PlotWeek] {
        let member = self.members.get(&athlete);
        member
            .map(|(_, weeks)| weeks.as_slice())
            .unwrap_or_default()
    }

    fn name(&self, athlete: AthleteId) -> &str {
        let member = self.members.get(&athlete);
        member.map(|(name, _)| name.as_str()).unwrap_or_default()
    }

    fn time(&self, at: Timestamp) -> String {
        let there = self.zone.to_datetime(at);
        there.strftime("%a %-d %b %Y, %H:%M").to_string()
    }
}

/// The page.
pub fn write(answer: &WeeklyListAnswer, beside: &Beside) -> String {
    let title = format!("Weekly list: {}, {}", beside.squad_name, answer.week);
    let body = html! {
        header { (head(answer, beside, &title)) }
        main {
            (decisions(answer, beside))
            (asks(answer, beside))
            @if !answer.entries.is_empty() {
                section aria-labelledby="athletes" {
                    h2 id="athletes" { "Athlete by athlete" }
                    @for entry in &answer.entries { (athlete(entry, answer, beside)) }
                }
            }
        }
        footer {
            h2 { "What these figures are" }
            p { (answer.ratio_note) }
            p { (answer.caution) }
            p class="small" { "List of squad " (answer.squad_id) "." }
        }
    };
    document(&title, &body)
}

fn head(answer: &WeeklyListAnswer, beside: &Beside, title: &str) -> Markup {
    html! {
        h1 { (title) }
        p {
            "The week that ends on " (answer.date.strftime("%A %-d %B %Y")) " (" (answer.date) ")"
            @if !answer.complete { ". The week is not over: days still to come count as empty" }
            "."
        }
        p class="small" {
            "As known on " (beside.time(answer.as_of)) " (" (answer.as_of) "). "
            @match answer.policy_version {
                Some(version) => { "Club policy, version " (version) "." }
                None => { "No club policy." }
            }
        }
        @if let Some(note) = answer.note { p { strong { (note) } } }
        p class="caution" { (answer.caution) }
    }
}

/// Headings of the list, by the certainty of what stands under them.
const GROUPS: [(&str, &str); 3] = [
    ("certain", "Certain"),
    ("possible", "Possible"),
    ("not_computable", "Not computable"),
];

fn decisions(answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    html! {
        section aria-labelledby="decisions" {
            h2 id="decisions" { "Decisions" }
            @for (certainty, heading) in GROUPS {
                @let entries = answer.entries.iter().filter(|entry| entry.certainty == certainty);
                @if entries.clone().next().is_some() {
                    h3 { (heading) }
                    ul {
                        @for entry in entries {
                            li {
                                a href={ "#" (anchor(entry)) } { (entry.display_name) }
                                ": " (entry.sentence)
                            }
                        }
                    }
                }
            }
            @if let Some(line) = &answer.mostly_unlogged {
                h3 { "The squad as a whole" }
                p { (line.sentence) }
                p class="small" {
                    "Sessions expected: " (line.expected_sessions)
                    "; not logged: " (line.unlogged_sessions) "."
                }
                @if !line.athletes.is_empty() {
                    p { "Nothing logged by:" }
                    ul { @for id in &line.athletes { li { (beside.name(*id)) } } }
                }
            }
            (counts(answer))
        }
    }
}

fn counts(answer: &WeeklyListAnswer) -> Markup {
    html! {
        p {
            "Not on this list: " (answer.not_listed)
            ". Sessions expected and nothing logged: " (answer.nothing_logged)
            ". Organisations whose sessions are not shared with the club: "
            (answer.settings_not_shared) "."
        }
        @if answer.policy_version.is_some() {
            p class="small" {
                "Who is not on this list was not found above a limit of the club's policy by what was \
                 logged. That says no more than that."
            }
        }
    }
}

fn asks(answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    let asks = answer.entries.iter();
    let asks = asks.filter_map(|entry| Some((entry, entry.missing.first()?)));
    let asks: Vec<_> = asks.take(MOST_ASKED).collect();
    html! {
        @if !asks.is_empty() {
            section aria-labelledby="asks" {
                h2 id="asks" { "What to ask whom" }
                ul {
                    @for (entry, missing) in asks {
                        li { strong { (entry.display_name) } ": " (ask(missing, beside)) }
                    }
                }
            }
        }
    }
}

/// A missing session, and at which load the finding would change.
fn ask(missing: &MissingSession, beside: &Beside) -> Markup {
    html! {
        (words(missing.kind)) " (" (words(missing.setting)) "), "
        (beside.time(missing.starts_at)) ", " (missing.minutes) " minutes."
        @if let Some(above) = missing.settles_above_au {
            " The finding is certain where the missing sessions come to more than " (above) " AU together."
        }
        @if let Some(up_to) = missing.rules_out_below_au {
            " It is ruled out where they come to " (up_to) " AU or less."
        }
    }
}

fn athlete(entry: &WeeklyEntry, answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    html! {
        article aria-labelledby=(anchor(entry)) {
            h3 id=(anchor(entry)) { (entry.display_name) }
            p { (entry.sentence) }
            (plot::figure(entry, beside.weeks(entry.athlete_id)))
            @if entry.ratio.is_some() { p class="small" { (answer.ratio_note) } }
            @if !entry.missing.is_empty() {
                p { "Not logged, the entry that matters most first:" }
                ul { @for missing in &entry.missing { li { (ask(missing, beside)) } } }
            }
            @if let Some(note) = entry.rating_note { p { (note) } }
            (figures::table(entry))
        }
    }
}

fn anchor(entry: &WeeklyEntry) -> String {
    format!("athlete-{}", entry.athlete_id)
}

/// A code of the contract in words: `school_team` is "school team".
pub(super) fn words(code: &str) -> String {
    code.replace('_', " ")
}
