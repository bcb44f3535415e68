//! A squad's day as a page: what is planned, who has instructions, then athlete by athlete.

use jiff::tz::TimeZone;
use maud::{Markup, html};

use crate::pages::html::document;
use crate::pages::told::{self, au, au_range, words};
use crate::routes::squads::{ExpectedAt, TodayAnswer, TodayAthlete, TodaySession};

/// What the page shows beside the answer.
#[derive(Debug)]
pub struct Beside {
    /// The squad's name.
    pub squad_name: String,
    /// The club's zone, in which times are told.
    pub zone: TimeZone,
}

/// The page.
pub fn write(answer: &TodayAnswer, beside: &Beside) -> String {
    let date = answer.date.strftime("%A %-d %B %Y");
    let title = format!("Squad's day: {}, {date}", beside.squad_name);
    let (at, zone) = (answer.as_of, &beside.zone);
    let body = html! {
        header {
            h1 { (title) }
            p class="small" { (answer.date) ", as known on " (told::time(zone, at)) " (" (at) ")." }
            p class="caution" { (answer.caution) }
        }
        main {
            (sessions(&answer.sessions))
            (instructions(&answer.athletes))
            section aria-labelledby="athletes" {
                h2 id="athletes" { "Athlete by athlete" }
                @if answer.athletes.is_empty() { p { "Nobody is a member of the squad today." } }
                @for one in &answer.athletes { (athlete(one, &answer.sessions)) }
            }
        }
        footer {
            h2 { "What is told here" }
            p { (answer.note) }
            p { "Where nothing is entered, no absence and no ceiling is known for the day. That clears nobody." }
            p class="small" { "Day of squad " (answer.squad_id) "." }
        }
    };
    document(&title, &body)
}

fn sessions(sessions: &[TodaySession]) -> Markup {
    html! {
        section aria-labelledby="sessions" {
            h2 id="sessions" { "Sessions of the day" }
            @if sessions.is_empty() { p { "None is planned." } }
            ul { @for session in sessions { li { (planned(session)) } } }
        }
    }
}

fn planned(session: &TodaySession) -> Markup {
    html! {
        strong { (name(session)) } ": " (session.minutes) " minutes, "
        @match session.intended_rpe {
            Some(rpe) => { "intended RPE " (rpe) }
            None => { "no intended RPE" }
        }
        ", " (words(session.status)) "."
    }
}

/// When, what and whose.
fn name(session: &TodaySession) -> String {
    // RFC 3339, at the place: the date, a T, hours and minutes.
    let time = session.starts_at.get(11..16).unwrap_or_default();
    let (kind, setting) = (words(session.kind), words(session.setting));
    format!("{time} {kind} ({setting})")
}

fn instructions(athletes: &[TodayAthlete]) -> Markup {
    let told = athletes.iter();
    let told: Vec<_> = told.filter(|one| !one.instructions.is_empty()).collect();
    html! {
        section aria-labelledby="instructions" {
            h2 id="instructions" { "Instructions" }
            @if told.is_empty() { p { "Nothing is entered for today." } }
            ul {
                @for one in told {
                    li { a href={ "#athlete-" (one.athlete_id) } { (one.display_name) } ": " (one.instructions.join(" ")) }
                }
            }
        }
    }
}

fn athlete(one: &TodayAthlete, sessions: &[TodaySession]) -> Markup {
    let id = format!("athlete-{}", one.athlete_id);
    html! {
        article aria-labelledby=(id) {
            h3 id=(id) { (one.display_name) }
            p {
                "Availability: " (words(one.availability))
                @if let Some(role) = one.set_by { ", by " (words(role)) }
                @if let Some(until) = one.until { ", until " (until) }
                "."
            }
            @for sentence in &one.instructions { p { (sentence) } }
            @if let Some(limit) = &one.limit {
                @let (most, done) = (limit.max_week_au, &limit.done_au);
                p class="small" {
                    "Ceiling (" (limit.binding) ") from " (limit.from) " to " (limit.to) ": " (au_range(most.low, most.high))
                    "; done: " (au(done.point, done.low, done.high)) "."
                }
            }
            (done(one))
            @if let Some(note) = one.age_note { p { (note) } }
            (expected(&one.expected_at, sessions))
        }
    }
}

/// What she has done today.
fn done(one: &TodayAthlete) -> Markup {
    html! {
        p {
            "Done today: "
            @match &one.load_au {
                Some(load) => {
                    (au(load.point, load.low, load.high)) ", " (one.minutes) " minutes; sessions logged: "
                    (one.logged_sessions) ", over and not logged: " (one.unlogged_sessions) "."
                }
                None => { "no figure before her first day in the club." }
            }
        }
    }
}

fn expected(expected: &[ExpectedAt], sessions: &[TodaySession]) -> Markup {
    let at = expected.iter().filter_map(|at| {
        let session = sessions.iter().find(|one| one.event_id == at.event_id)?;
        let list = at
            .attendance
            .map(|status| format!(", attendance list: {}", words(status)));
        Some(name(session) + &list.unwrap_or_default())
    });
    let at: Vec<String> = at.collect();
    html! {
        @if !at.is_empty() { p { "Expected at: " (at.join("; ")) "." } }
    }
}
