//! An athlete's history as a page that prints on one sheet: what is not known beside what is.

use jiff::tz::TimeZone;
use maud::{Markup, html};

use super::{plots, tables, words};
use crate::pages::html::document;
use crate::routes::history::HistoryAnswer;

/// The page; times are told in the athlete's zone.
pub fn write(answer: &HistoryAnswer, zone: &TimeZone) -> String {
    let title = words::title(answer);
    let body = html! {
        div class="sheet" {
            header {
                h1 { (title) }
                p { (words::asked(answer)) }
                p class="small" { (words::known(answer, zone)) }
                p class="caution" { (answer.note) }
                @if let Some(note) = answer.age_note { p { (note) } }
            }
            main {
                (section("limits", &words::limits(answer), &limits(answer)))
                (section("not-known", words::NOT_KNOWN, &not_known(answer)))
                (section("absence", words::ABSENCE, &absence(answer)))
                (section("loads", words::LOADS, &loads(answer)))
                (section("tests", words::TESTS, &tests(answer)))
                @if !answer.pain_reports.is_empty() { (section("pain", words::PAIN, &pain(answer))) }
                (section("decision", words::DECISION, &decisions(answer)))
            }
            footer {
                h2 { (words::WHAT_THIS_IS) }
                p { (answer.evidence.join(" ")) }
                p { (answer.caution) " " (answer.record_note) }
            }
        }
    };
    document(&title, &body)
}

fn section(id: &str, heading: &str, inside: &Markup) -> Markup {
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (heading) }
            (inside)
        }
    }
}

/// What clinicians limit, before anything else.
fn limits(answer: &HistoryAnswer) -> Markup {
    html! {
        @if answer.restrictions.is_empty() { p { (words::NO_RESTRICTION) } }
        @for one in &answer.restrictions {
            p { strong { (one.instruction) } " " (words::since(one)) }
        }
    }
}

fn not_known(answer: &HistoryAnswer) -> Markup {
    html! {
        p { strong { (words::unlogged(answer)) } }
        p { (words::days(answer)) }
        ul { @for one in &answer.not_included { li { (words::left_out(one)) } } }
    }
}

fn absence(answer: &HistoryAnswer) -> Markup {
    html! {
        p { (words::absence(answer)) }
        @if let Some(entered) = words::entered(&answer.absences) { p class="small" { (entered) } }
        @if let Some(before) = &answer.pre_absence {
            p { strong { (words::before(before)) } }
            (plots::back(&answer.share_of_pre_absence).figure())
            (tables::back(&answer.share_of_pre_absence).markup())
        }
        @if !answer.since_return.is_empty() {
            (plots::since_return(answer).figure())
            (tables::since_return(&answer.since_return).markup())
        }
    }
}

fn loads(answer: &HistoryAnswer) -> Markup {
    html! {
        @if answer.weeks.is_empty() {
            p { (words::NO_DAY) }
        } @else {
            (plots::weeks(answer).figure())
            details class="screen" {
                summary { "Every week as a table" }
                (tables::weeks(&answer.weeks).markup())
            }
        }
    }
}

fn tests(answer: &HistoryAnswer) -> Markup {
    html! {
        @for injury in &answer.injuries { p { (words::injury(injury)) } }
        @if answer.injuries.is_empty() { p { (words::NO_INJURY) } }
        @if answer.tests.is_empty() {
            p { (words::NO_TEST) }
        } @else {
            (tables::tests(&answer.tests).markup())
        }
        p class="small" { (words::trials(answer)) }
        @if let Some(note) = &answer.tests_note { p { (note) } }
        p class="small" { (words::technique(&answer.sign_offs)) }
        @if let Some(nothing) = words::no_pain(answer) { p class="small" { (nothing) } }
    }
}

fn pain(answer: &HistoryAnswer) -> Markup {
    html! {
        ul { @for said in &answer.pain_reports { li { (words::pain(said)) } } }
    }
}

fn decisions(answer: &HistoryAnswer) -> Markup {
    html! {
        p { strong { (words::newest(answer.decision)) } }
        @for one in &answer.clearance_records {
            p {
                (words::decided(one))
                span class="small screen" { " (record " (one.clearance_id) ")" }
            }
        }
        @if answer.flags.is_empty() {
            p { (words::NO_FLAG) }
        } @else {
            h3 { (words::FLAGS) }
            ul {
                @for flag in &answer.flags {
                    li {
                        (words::flag(flag))
                        span class="small screen" { " (flag " (flag.flag_id) ")" }
                    }
                }
            }
        }
    }
}
