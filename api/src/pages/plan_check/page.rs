//! The page: what breaks a rule in words, a plot of planned load against the limit, one row a week.

use maud::{Markup, html};

use super::{plot, table, words};
use crate::pages::html::document;
use crate::routes::plans::PlanCheckAnswer;

/// The page of a plan, with a part for each athlete.
pub fn write(checks: &[PlanCheckAnswer]) -> String {
    let title = words::title(checks);
    let body = html! {
        header {
            h1 { (title) }
            @if let Some(first) = checks.first() {
                p { (words::judged_by(first)) }
                p class="caution" { (first.note) }
            } @else {
                p { (words::NOBODY) }
            }
        }
        main {
            @for (place, check) in checks.iter().enumerate() { (part(place, check)) }
        }
        @if let Some(first) = checks.first() {
            footer {
                h2 { (words::WHAT_THIS_IS) }
                p { (first.ratio_note) }
                p { (first.caution) }
            }
        }
    };
    document(&title, &body)
}

/// One athlete's part.
fn part(place: usize, check: &PlanCheckAnswer) -> Markup {
    let id = format!("part-{place}");
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (words::whose(check)) }
            @for said in words::known(check) { p class="small" { (said) } }
            @if let Some(note) = check.age_note { p { (note) } }
            ul { @for said in &check.sentences { li { (said) } } }
            (plot::figure(place, check))
            // So many columns do not fit a telephone; a number that breaks over two lines is misread.
            div class="wide" role="region" tabindex="0" aria-label={ "Weeks, " (place + 1) } { (table::weeks(check).markup()) }
        }
    }
}
