//! Plots of a history, the same on its page and on its sheet, black on white: what was logged is filled, what is open is hatched. The numbers stand in the tables beside them.

use maud::{Markup, html};

use crate::pages::sheet::Block;
use crate::routes::history::{BackShare, HistoryAnswer, ReturnStep, WeekOfHistory};
use crate::web::figures::LoadBounds;

/// Of a drawing, in its own units; one is about a pixel on a telephone.
const WIDTH: f64 = 320.0;
const HEIGHT: f64 = 150.0;
/// The height of the bars, between the line of words above and the names below.
const TOP: f64 = 24.0;
const BASE: f64 = 128.0;
/// Room that a name under a bar needs.
const NAME: f64 = 40.0;

/// A plot: a picture with a name, words for who does not see it, and what its marks mean.
pub(super) struct Plot {
    id: &'static str,
    title: &'static str,
    told: String,
    key: &'static str,
    inside: Markup,
}

impl Plot {
    /// On a page.
    pub(super) fn figure(&self) -> Markup {
        html! {
            figure {
                (self.drawing())
                figcaption class="small" { (self.key) }
            }
        }
    }

    fn drawing(&self) -> Markup {
        let id = self.id;
        html! {
            svg role="img" aria-labelledby={ "title-" (id) " desc-" (id) }
                viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } xmlns="http://www.w3.org/2000/svg"
                font-family="sans-serif" font-size="11" {
                title id={ "title-" (id) } { (self.title) }
                desc id={ "desc-" (id) } { (self.told) ". Every number is in the table." }
                defs {
                    pattern id={ "open-" (id) } width="5" height="5" patternUnits="userSpaceOnUse"
                        patternTransform="rotate(45)" {
                        rect width="5" height="5" fill="#fff" {}
                        line x1="0" y1="0" x2="0" y2="5" stroke="#000" stroke-width="2" {}
                    }
                }
                text x="0" y="12" { (self.title) }
                (self.inside)
                line x1="0" y1=(BASE) x2=(WIDTH) y2=(BASE) stroke="#000" {}
            }
        }
    }

    /// On a sheet.
    pub(super) fn block(&self) -> Block {
        Block::Drawing {
            svg: self.drawing().into_string(),
            alt: format!("{}: {}", self.title, self.told),
            key: self.key.to_owned(),
            width_mm: None,
        }
    }
}

/// The load of each week, days of absence shaded.
pub(super) fn weeks(answer: &HistoryAnswer) -> Plot {
    let weeks = &answer.weeks;
    let scale = Scale::of(weeks.iter().map(|week| week.load_au.high));
    let slot = slot(weeks.len());
    let named = (NAME / slot).ceil();
    Plot {
        id: "weeks",
        title: "Load by week, AU",
        told: told_of_weeks(weeks),
        key: "Filled: load as logged, at the least. Hatched: what unlogged or disputed sessions leave open. Grey behind: weeks with days \
              of absence.",
        inside: html! {
            @for (place, week) in weeks.iter().enumerate() {
                @let x = slot * place_of(place);
                @if week.days_absent > 0 { (shade(x, slot)) }
                (bar("weeks", week.load_au, x, slot, &scale))
                @if place_of(place) % named == 0.0 {
                    text x=(tenth(x)) y=(BASE + 15.0) { (week.week.get(5..).unwrap_or(&week.week)) }
                }
            }
        },
    }
}

/// The weeks since the absence with their ceilings as steps.
pub(super) fn since_return(answer: &HistoryAnswer) -> Plot {
    let weeks = &answer.since_return;
    let highest = weeks
        .iter()
        .map(|week| week.load_au.high.max(week.ceiling_au.high));
    let scale = Scale::of(highest);
    let slot = slot(weeks.len().max(5));
    Plot {
        id: "return",
        title: "Weeks since the absence against their ceilings, AU",
        told: told_of_return(weeks),
        key: "Filled: load as logged, at the least. Hatched: what is left open. Line: the ceiling of the week; broken where an earlier \
              week may lower it.",
        inside: html! {
            @for (place, week) in weeks.iter().enumerate() {
                @let x = slot * place_of(place);
                (bar("return", week.load_au, x, slot, &scale))
                (step(week, x, slot, &scale))
                text x=(tenth(x + slot / 2.0)) y=(BASE + 15.0) text-anchor="middle" { "week " (week.week) }
            }
        },
    }
}

/// What of the load before the absence is back, part by part, and of jumps and throws.
pub(super) fn back(parts: &[BackShare]) -> Plot {
    Plot {
        id: "back",
        title: "Share of what was before the absence, per cent",
        told: told_of_back(parts),
        key: "Filled: share as logged, at the least. Hatched: what is left open, or not known at all.",
        inside: html! {
            @for (place, part) in parts.iter().enumerate() { (row(part, TOP + 26.0 * place_of(place))) }
            @let full = across(100.0);
            line x1=(full) y1=(TOP) x2=(full) y2=(BASE) stroke="#000" stroke-dasharray="4 3" {}
            text x=(full) y=(BASE + 15.0) text-anchor="middle" { "100 %" }
        },
    }
}

fn bar(id: &str, load: LoadBounds, x: f64, slot: f64, scale: &Scale) -> Markup {
    let (low, high) = (scale.y(load.low), scale.y(load.high));
    let (x, wide) = (tenth(x + slot * 0.15), tenth(slot * 0.7));
    html! {
        @if low < BASE {
            rect x=(x) y=(low) width=(wide) height=(tenth(BASE - low)) fill="#767676" {}
        }
        @if high < low {
            rect x=(x) y=(high) width=(wide) height=(tenth(low - high)) fill={ "url(#open-" (id) ")" } stroke="#000" {}
        }
    }
}

fn shade(x: f64, slot: f64) -> Markup {
    html! {
        rect x=(tenth(x)) y=(TOP) width=(tenth(slot)) height=(BASE - TOP) fill="#ddd" {}
    }
}

fn step(week: &ReturnStep, x: f64, slot: f64, scale: &Scale) -> Markup {
    let ceiling = week.ceiling_au;
    let (from, to) = (tenth(x), tenth(x + slot));
    html! {
        @let y = scale.y(ceiling.point);
        line x1=(from) y1=(y) x2=(to) y2=(y) stroke="#000" stroke-width="2" {}
        @if ceiling.low < ceiling.point {
            @let y = scale.y(ceiling.low);
            line x1=(from) y1=(y) x2=(to) y2=(y) stroke="#000" stroke-width="2" stroke-dasharray="6 3" {}
        }
    }
}

/// One part, lying: as far as it is back, and hatched where that is not known.
fn row(part: &BackShare, y: f64) -> Markup {
    let share = part.share_pct;
    let (low, high) = match (share.low, share.high) {
        (Some(low), Some(high)) => (across(low), across(high)),
        _ => (across(0.0), across(100.0)),
    };
    let start = across(0.0);
    html! {
        text x="0" y=(y + 14.0) { (part.part) }
        @if start < low { rect x=(start) y=(y + 3.0) width=(tenth(low - start)) height="15" fill="#767676" {} }
        @if low < high {
            rect x=(low) y=(y + 3.0) width=(tenth(high - low)) height="15" fill="url(#open-back)" stroke="#000" {}
        }
    }
}

fn told_of_weeks(weeks: &[WeekOfHistory]) -> String {
    let highest = weeks
        .iter()
        .map(|week| week.load_au.point)
        .fold(0.0, f64::max);
    let absent = weeks.iter().filter(|week| week.days_absent > 0).count();
    let open = weeks.iter().filter(|week| week.unlogged > 0).count();
    format!(
        "{} weeks, the highest {highest} AU as logged; {absent} with days of absence, {open} with unlogged sessions",
        weeks.len()
    )
}

fn told_of_return(weeks: &[ReturnStep]) -> String {
    let of_week = |week: &ReturnStep| {
        let (number, done, ceiling) = (week.week, week.load_au.point, week.ceiling_au.point);
        format!("week {number}: {done} AU of {ceiling} AU")
    };
    weeks.iter().map(of_week).collect::<Vec<_>>().join("; ")
}

fn told_of_back(parts: &[BackShare]) -> String {
    let of_part = |part: &BackShare| match part.share_pct.point {
        Some(share) => format!("{}: {share} %", part.part),
        None => format!("{}: not known", part.part),
    };
    parts.iter().map(of_part).collect::<Vec<_>>().join("; ")
}

/// AU to height.
struct Scale {
    most: f64,
}

impl Scale {
    fn of(highs: impl Iterator<Item = f64>) -> Self {
        Self {
            most: highs.fold(1.0, f64::max),
        }
    }

    fn y(&self, au: f64) -> f64 {
        tenth(BASE - (BASE - TOP) * au / self.most)
    }
}

/// Per cent to breadth: 150 fill it.
fn across(pct: f64) -> f64 {
    let (start, end) = (55.0, WIDTH - 5.0);
    tenth(start + (end - start) * pct.clamp(0.0, 150.0) / 150.0)
}

fn slot(places: usize) -> f64 {
    WIDTH / place_of(places.max(1))
}

fn place_of(place: usize) -> f64 {
    f64::from(u32::try_from(place).unwrap_or(u32::MAX))
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
