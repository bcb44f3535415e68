//! The page: what breaks a rule in words, a plot of planned load against the limit, one row a week.

use maud::{Markup, html};

use super::{plot, table};
use crate::pages::html::document;
use crate::routes::plans::PlanCheckAnswer;

/// The page of a plan, with a part for each athlete.
pub fn write(checks: &[PlanCheckAnswer]) -> String {
    let title = checks
        .first()
        .map_or_else(|| "Plan check".to_owned(), title);
    let body = html! {
        header {
            h1 { (title) }
            @if let Some(first) = checks.first() {
                p { (judged_by(first)) }
                p class="caution" { (first.note) }
            } @else {
                p { "The squad has no member today." }
            }
        }
        main {
            @for (place, check) in checks.iter().enumerate() { (part(place, check)) }
        }
        @if let Some(first) = checks.first() {
            footer {
                h2 { "What this is" }
                p { (first.ratio_note) }
                p { (first.caution) }
            }
        }
    };
    document(&title, &body)
}

fn title(check: &PlanCheckAnswer) -> String {
    format!("Plan check, {} to {}", check.first_week, check.last_week)
}

/// The limit, and whose it is.
fn judged_by(check: &PlanCheckAnswer) -> String {
    let version = check
        .policy_version
        .map(|version| format!("policy version {version}"));
    let version = version.unwrap_or_else(|| "no policy".to_owned());
    match &check.limit {
        Some(limit) => format!(
            "{} AU planned. Limit on the {} ratio: {} ({}); {version}.",
            check.total_au, limit.ratio_kind, limit.limit, limit.source_note
        ),
        None => format!(
            "{} AU planned. No limit on a ratio is judged; {version}.",
            check.total_au
        ),
    }
}

/// One athlete's part.
fn part(place: usize, check: &PlanCheckAnswer) -> Markup {
    let id = format!("part-{place}");
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (check.display_name.as_deref().unwrap_or("After a typed history")) }
            @if let Some(until) = check.logged_until { p class="small" { "Logged until " (until) "." } }
            @if let Some(note) = check.age_note { p { (note) } }
            ul { @for said in &check.sentences { li { (said) } } }
            (plot::figure(place, check))
            // Ten columns do not fit a telephone; a number that breaks over two lines is misread.
            div class="wide" role="region" tabindex="0" aria-label={ "Weeks, " (place + 1) } { (table::weeks(check).markup()) }
        }
    }
}
