//! The weekly list as a page: who needs a decision, whom to ask for what, then athlete by athlete.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use plimsoll_domain::IsoWeek;

use super::done::{self, Form};
use super::{figures, plot};
use crate::ids::AthleteId;
use crate::pages::html::{document, words};
use crate::routes::weeks::{
    AheadEntry, AuRange, CorrectionNote, MissingSession, WeeklyEntry, WeeklyListAnswer,
};
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
    /// The weeks before and after, for a reader who may open them too.
    pub neighbours: Option<(IsoWeek, Option<IsoWeek>)>,
    /// The form for what was done, for a reader who may use it.
    pub form: Option<Form>,
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

    pub(super) fn time(&self, at: Timestamp) -> String {
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
            (week_ahead(answer))
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
        @if let Some((before, after)) = beside.neighbours {
            nav aria-label="Weeks" class="small" {
                a href=(before) { "Week before: " (before) }
                @if let Some(after) = after { " · " a href=(after) { "Week after: " (after) } }
            }
        }
        p {
            "The week that ends on " (answer.date.strftime("%A %-d %B %Y")) " (" (answer.date) ")"
            @if !answer.complete { ". The week is not over: days still to come count as empty" }
            "."
        }
        p class="small" { (closing(answer, beside)) }
        p class="small" {
            "As known on " (beside.time(answer.as_of)) " (" (answer.as_of) "). "
            @match answer.policy_version {
                Some(version) => { "Club policy, version " (version) "." }
                None => { "No club policy." }
            }
        }
        @if let Some(note) = answer.note { p { strong { (note) } } }
        @if let Some(note) = &answer.correction { (corrected(note, beside)) }
        p class="caution" { (answer.caution) }
    }
}

/// When the week was closed.
fn closing(answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    html! {
        @match answer.closed_at {
            Some(at) => {
                "Closed on " (beside.time(at)) " (" (at) ")"
                @if answer.late == Some(true) { ", later than the club's time for it" }
                "."
            }
            None => { "Not closed yet: flags are judged at the close." }
        }
    }
}

/// What was judged otherwise since the close.
fn corrected(note: &CorrectionNote, beside: &Beside) -> Markup {
    let lists = [
        ("Withdrawn", &note.withdrawn),
        ("Raised since", &note.raised),
        ("Judged on other figures", &note.changed),
    ];
    html! {
        section aria-labelledby="corrected" {
            h2 id="corrected" { "Corrected after the close" }
            p { (note.sentence) }
            ul {
                @for (heading, flags) in lists {
                    @for flag in flags {
                        li {
                            (heading) ": " (flag.display_name) ", " (words(&flag.rule))
                            " (" (words(&flag.cause)) ")"
                            br;
                            span class="small" { "Flag " (flag.flag_id) }
                        }
                    }
                }
            }
            p class="small" { "Last judged on " (beside.time(note.at)) " (" (note.at) ")." }
        }
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
                @let entries = open(answer).filter(|entry| entry.certainty == certainty);
                @if entries.clone().next().is_some() {
                    h3 { (heading) }
                    ul {
                        @for entry in entries {
                            li {
                                a href={ "#" (anchor(entry)) } { (entry.display_name) }
                                ": " (entry.sentence)
                                (done::form(entry, beside.form.as_ref()))
                            }
                        }
                    }
                }
            }
            (acknowledged(answer, beside))
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

/// What nothing was done about yet, or what has grown since.
fn open(answer: &WeeklyListAnswer) -> impl Iterator<Item = &WeeklyEntry> + Clone {
    let entries = answer.entries.iter();
    entries.filter(|entry| entry.acknowledged.is_none())
}

/// What somebody has seen to.
fn acknowledged(answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    let entries = answer.entries.iter();
    let done = entries.filter_map(|entry| Some((entry, entry.acknowledged.as_ref()?)));
    html! {
        @if done.clone().next().is_some() {
            h3 { "Acknowledged, and not grown since" }
            ul {
                @for (entry, done) in done {
                    li {
                        a href={ "#" (anchor(entry)) } { (entry.display_name) }
                        ": " (entry.sentence)
                        br;
                        (done::told(done, beside))
                    }
                }
            }
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
    let asks = open(answer).filter_map(|entry| Some((entry, entry.missing.first()?)));
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

/// Who will, or may, be over a limit in the week after.
fn week_ahead(answer: &WeeklyListAnswer) -> Markup {
    html! {
        @if let Some(ahead) = &answer.ahead {
            section aria-labelledby="ahead" {
                h2 id="ahead" { "The week ahead" }
                @if ahead.is_empty() {
                    p { "By what is planned, nobody comes above a limit. Only planned sessions are known." }
                } @else {
                    p { "If the sessions happen as planned. A plan is an intention, no logged load." }
                    ul { @for entry in ahead { li { (planned(entry)) } } }
                }
            }
        }
    }
}

fn planned(entry: &AheadEntry) -> Markup {
    html! {
        strong { (entry.display_name) } " (" (words(entry.certainty)) "): " (entry.sentence)
        br;
        span class="small" {
            "Rule: " (words(entry.rule))
            ". Planned: " (span(entry.planned_au)) " in " (entry.planned_sessions)
            " sessions, of them without an intended RPE: " (entry.without_intended_rpe)
            ". Limit: " (span(entry.limit_au))
            ". Above it by: " (span(entry.over_by_au)) "."
        }
    }
}

fn span(range: AuRange) -> String {
    if range.low == range.high {
        format!("{} AU", range.low)
    } else {
        format!("{} to {} AU", range.low, range.high)
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
