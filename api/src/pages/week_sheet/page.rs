//! The week sheet as a page that prints.

use maud::{Markup, html};

use super::{Beside, exercises, tables, words};
use crate::pages::html::document;
use crate::pages::qr;
use crate::services::programmes::assigned::{AssignedAnswer, AssignedItem, AssignedSession};

/// The page.
pub fn write(answer: &AssignedAnswer, beside: &Beside) -> String {
    let title = words::title(answer, beside);
    let body = html! {
        div class="week-sheet" {
            header {
                h1 { (title) }
                p class="small" { (words::known(beside)) }
                p class="caution" { (words::STOP) }
                p { (words::TO_CALL) }
            }
            main {
                @if answer.sessions.is_empty() { p { (words::NOTHING) } }
                @for (place, one) in answer.sessions.iter().enumerate() { (session(place, one)) }
                @if !answer.sessions.is_empty() { (taught(answer)) }
            }
            footer {
                h2 { (words::KEEP_IN_MIND) }
                p { (words::WHERE_TO_LOG) }
                p { (answer.marks) }
                p { (answer.note) }
                p { (words::HEAT) }
                p class="small" { (answer.caution) }
            }
        }
    };
    document(&title, &body)
}

fn session(place: usize, one: &AssignedSession) -> Markup {
    let id = format!("session-{place}");
    html! {
        section class="whole" aria-labelledby=(id) {
            h2 id=(id) { (words::heading(one)) }
            p { (words::session(one)) }
            (tables::items(one).markup())
            p { (words::QUESTION) }
            p class="to-fill" { (words::TO_FILL) }
        }
    }
}

/// How each exercise is done, with the club's film.
fn taught(answer: &AssignedAnswer) -> Markup {
    html! {
        section aria-labelledby="exercises" {
            h2 id="exercises" { (words::EXERCISES) }
            div class="exercises" { @for one in exercises(answer) { (exercise(one)) } }
        }
    }
}

fn exercise(one: &AssignedItem) -> Markup {
    html! {
        div class="exercise whole" {
            h3 { (one.name) }
            @if let Some(description) = &one.description { p { (description) } }
            @if let Some(url) = &one.film_url {
                p { "The club's film: " a href=(url) rel="noreferrer" { (url) } }
                @if let Some(code) = qr::drawing(url, &words::film_of(&one.name)) { (code) }
            }
        }
    }
}
