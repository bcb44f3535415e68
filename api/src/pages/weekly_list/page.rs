//! The weekly list as a page: who needs a decision, whom to ask for what, then athlete by athlete.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use plimsoll_domain::IsoWeek;

use super::done::{self, Form};
use super::{figures, plot, words};
use crate::ids::AthleteId;
use crate::pages::html::document;
use crate::pages::told;
use crate::routes::weeks::{AheadEntry, CorrectionNote, WeeklyEntry, WeeklyListAnswer};
use crate::services::plot_weeks::PlotWeek;

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
    pub(super) fn weeks(&self, athlete: AthleteId) -> &[PlotWeek] {
        let member = self.members.get(&athlete);
        member
            .map(|(_, weeks)| weeks.as_slice())
            .unwrap_or_default()
    }

    pub(super) fn name(&self, athlete: AthleteId) -> &str {
        let member = self.members.get(&athlete);
        member.map(|(name, _)| name.as_str()).unwrap_or_default()
    }

    pub(super) fn time(&self, at: Timestamp) -> String {
        told::time(&self.zone, at)
    }
}

/// The page.
pub fn write(answer: &WeeklyListAnswer, beside: &Beside) -> String {
    let title = words::title(answer, beside);
    let body = html! {
        header { (head(answer, beside, &title)) }
        main {
            (decisions(answer, beside))
            (asks(answer, beside))
            (week_ahead(answer))
            @if !answer.entries.is_empty() {
                section aria-labelledby="athletes" {
                    h2 id="athletes" { (words::ATHLETES) }
                    @for entry in &answer.entries { (athlete(entry, answer, beside)) }
                }
            }
        }
        footer {
            h2 { (words::WHAT_FIGURES_ARE) }
            p { (answer.ratio_note) }
            p { (answer.caution) }
            p class="small" { (words::of_squad(answer)) }
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
        p { (words::span(answer)) }
        p class="small" { (words::closing(answer, beside)) }
        p class="small" { (words::known(answer, beside)) }
        @if let Some(note) = answer.note { p { strong { (note) } } }
        @if let Some(note) = &answer.correction { (corrected(note, beside)) }
        p class="caution" { (answer.caution) }
    }
}

/// What was judged otherwise since the close.
fn corrected(note: &CorrectionNote, beside: &Beside) -> Markup {
    html! {
        section aria-labelledby="corrected" {
            h2 id="corrected" { (words::CORRECTED) }
            p { (note.sentence) }
            ul {
                @for (line, flag) in words::corrected(note) {
                    li { (line) br; span class="small" { (flag) } }
                }
            }
            p class="small" { (words::judged(note, beside)) }
        }
    }
}

fn decisions(answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    html! {
        section aria-labelledby="decisions" {
            h2 id="decisions" { (words::DECISIONS) }
            @for (certainty, heading) in words::GROUPS {
                @let entries = words::open(answer).filter(|entry| entry.certainty == certainty);
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
                h3 { (words::AS_A_WHOLE) }
                p { (line.sentence) }
                p class="small" { (words::expected(line)) }
                @if !line.athletes.is_empty() {
                    p { (words::NOTHING_LOGGED_BY) }
                    ul { @for id in &line.athletes { li { (beside.name(*id)) } } }
                }
            }
            p { (words::counts(answer)) }
            @if answer.policy_version.is_some() { p class="small" { (words::NOT_LISTED) } }
        }
    }
}

/// What somebody has seen to.
fn acknowledged(answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    let done = words::acknowledged(answer);
    html! {
        @if done.clone().next().is_some() {
            h3 { (words::ACKNOWLEDGED) }
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

fn asks(answer: &WeeklyListAnswer, beside: &Beside) -> Markup {
    let asks = words::asks(answer);
    html! {
        @if !asks.is_empty() {
            section aria-labelledby="asks" {
                h2 id="asks" { (words::ASKS) }
                ul {
                    @for (entry, missing) in asks {
                        li { strong { (entry.display_name) } ": " (words::ask(missing, beside)) }
                    }
                }
            }
        }
    }
}

/// Who will, or may, be over a limit in the week after.
fn week_ahead(answer: &WeeklyListAnswer) -> Markup {
    html! {
        @if let Some(ahead) = &answer.ahead {
            section aria-labelledby="ahead" {
                h2 id="ahead" { (words::WEEK_AHEAD) }
                @if ahead.is_empty() {
                    p { (words::NOBODY_AHEAD) }
                } @else {
                    p { (words::A_PLAN) }
                    ul { @for entry in ahead { li { (planned(entry)) } } }
                }
            }
        }
    }
}

fn planned(entry: &AheadEntry) -> Markup {
    html! {
        strong { (entry.display_name) } " (" (told::words(entry.certainty)) "): " (entry.sentence)
        br;
        span class="small" { (words::planned(entry)) }
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
                p { (words::MISSING) }
                ul { @for missing in &entry.missing { li { (words::ask(missing, beside)) } } }
            }
            @if let Some(note) = &entry.rating_note { p { (note) } }
            @if let Some(note) = entry.age_note { p { (note) } }
            (figures::table(entry))
        }
    }
}

fn anchor(entry: &WeeklyEntry) -> String {
    format!("athlete-{}", entry.athlete_id)
}
