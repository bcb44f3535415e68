//! An athlete's history as a page that prints on one sheet: what is not known beside what is.

use jiff::tz::TimeZone;
use maud::{Markup, html};

use super::{plots, tables};
use crate::pages::html::document;
use crate::pages::told::words;
use crate::routes::history::HistoryAnswer;

/// The page; times are told in the athlete's zone.
pub fn write(answer: &HistoryAnswer, zone: &TimeZone) -> String {
    let title = format!("History: {}", answer.display_name);
    let body = html! {
        div class="sheet" {
            header { (head(answer, zone, &title)) }
            main {
                (limits(answer))
                (not_known(answer))
                (absence(answer))
                (loads(answer))
                (tests(answer))
                (decisions(answer))
            }
            footer {
                h2 { "What this is" }
                p { (answer.evidence.join(" ")) }
                p { (answer.caution) }
            }
        }
    };
    document(&title, &body)
}

fn head(answer: &HistoryAnswer, zone: &TimeZone, title: &str) -> Markup {
    let there = zone.to_datetime(answer.as_of);
    html! {
        h1 { (title) }
        p {
            (answer.span.from) " to " (answer.span.to) ", asked for by the "
            (words(answer.asked_by.role)) ": " (words(answer.purpose)) "."
        }
        p class="small" {
            "As known on " (there.strftime("%a %-d %b %Y, %H:%M")) " (" (answer.as_of) "). "
            @match answer.policy_version {
                Some(version) => { "Club policy, version " (version) "." }
                None => { "No club policy." }
            }
        }
        p class="caution" { (answer.note) }
    }
}

/// What clinicians limit, before anything else.
fn limits(answer: &HistoryAnswer) -> Markup {
    html! {
        section aria-labelledby="limits" {
            h2 id="limits" { "Limits on " (answer.today) }
            @if answer.restrictions.is_empty() {
                p { "No restriction is entered. That is no statement that nothing is the matter." }
            }
            @for one in &answer.restrictions {
                p {
                    strong { (one.instruction) } " " (words(one.availability)) ", since " (one.from)
                    @if let Some(until) = one.until { ", to " (until) }
                    "; review on " (one.review_date) "."
                }
            }
        }
    }
}

fn not_known(answer: &HistoryAnswer) -> Markup {
    let unknown = &answer.not_known;
    html! {
        section aria-labelledby="not-known" {
            h2 id="not-known" { "What is not known" }
            p {
                "Sessions expected and not logged: " strong { (unknown.unlogged_sessions) }
                ". Organisations whose sessions are not shared with the club: "
                strong { (unknown.settings_not_shared) }
                ". Nothing is known of the days before " (unknown.member_since) "."
            }
            p { "Load of the span: " strong { (tables::span(unknown.span_au)) } "." }
            p {
                "Days: "
                @for (place, state) in unknown.days.iter().enumerate() {
                    @if place > 0 { "; " }
                    (words(state.state)) " " (state.days)
                }
                "."
            }
            ul {
                @for left_out in &answer.not_included {
                    li { (words(left_out.what)) ": " (left_out.why) }
                }
            }
        }
    }
}

fn absence(answer: &HistoryAnswer) -> Markup {
    html! {
        section aria-labelledby="absence" {
            h2 id="absence" { "The absence, and what is back since" }
            @match &answer.absence {
                Some(span) => p {
                    "Away from " (span.from) " to " (span.to) ", " (span.days) " days."
                },
                None => p { "No absence of seven days or more in the span." },
            }
            @if !answer.absences.is_empty() {
                p class="small" {
                    "Entered: "
                    @for (place, away) in answer.absences.iter().enumerate() {
                        @if place > 0 { "; " }
                        (away.from) " to " (away.to) ", " (words(away.category))
                    }
                    "."
                }
            }
            @if let Some(before) = &answer.pre_absence {
                p {
                    @match before.chronic_au_week {
                        Some(au) => {
                            "Mean week before it: " strong { (au) " AU" } ", of the weeks " (before.weeks.join(" ")) "."
                        },
                        None => {
                            "The mean week before it cannot be told"
                            @if let Some(reason) = before.reason { " (" (words(reason)) ")" }
                            "."
                        }
                    }
                }
                (plots::back(&answer.share_of_pre_absence))
                (tables::back(&answer.share_of_pre_absence))
            }
            @if !answer.since_return.is_empty() {
                (plots::since_return(answer))
                (tables::since_return(answer))
            }
        }
    }
}

fn loads(answer: &HistoryAnswer) -> Markup {
    html! {
        section aria-labelledby="loads" {
            h2 id="loads" { "Load by week" }
            @if answer.weeks.is_empty() {
                p { "No day of the span lies in the membership." }
            } @else {
                (plots::weeks(answer))
                details class="screen" {
                    summary { "Every week as a table" }
                    (tables::weeks(&answer.weeks))
                }
            }
        }
    }
}

fn tests(answer: &HistoryAnswer) -> Markup {
    html! {
        section aria-labelledby="tests" {
            h2 id="tests" { "Tests of both sides" }
            @for injury in &answer.injuries {
                p {
                    "Injured: " (injury.side) ", " (injury.injured_on)
                    @if let Some(surgery) = injury.surgery_on { "; surgery " (surgery) }
                    "."
                }
            }
            @if answer.injuries.is_empty() { p { "No injury is entered." } }
            @if answer.tests.is_empty() {
                p { "No test in the span." }
            } @else {
                (tables::tests(&answer.tests))
            }
            p class="small" { "A result stands for the " (answer.trials) " of its trials." }
            @if let Some(note) = &answer.tests_note { p { (note) } }
        }
    }
}

fn decisions(answer: &HistoryAnswer) -> Markup {
    html! {
        section aria-labelledby="decision" {
            h2 id="decision" { "Decision" }
            @match answer.decision {
                Some(decision) => p { "The newest on record: " strong { (words(decision)) } "." },
                None => p { "None is on record." },
            }
            @for one in &answer.clearance_records {
                p {
                    (one.decided_on) ": " (words(one.decision)) ", " (one.scope) ". " (one.name) ", " (one.licence_type)
                    "; document " (one.document_reference)
                    span class="small screen" { " (record " (one.clearance_id) ")" }
                }
            }
            @if answer.flags.is_empty() {
                p { "No flag in the span." }
            } @else {
                h3 { "Flags of the club's policy" }
                ul {
                    @for flag in &answer.flags {
                        li {
                            @if let Some(week) = &flag.week { (week) ": " }
                            (words(&flag.rule)) ", " (words(flag.certainty)) ", " (words(flag.state))
                            @if let Some(action) = &flag.action { "; done: " (words(action)) }
                            span class="small screen" { " (flag " (flag.flag_id) ")" }
                        }
                    }
                }
            }
        }
    }
}
