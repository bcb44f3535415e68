//! A small plot of an athlete's weekly loads, AU, with the limit of the listed week as a line.
//!
//! Black on white: what was logged is filled, what unlogged or disputed sessions leave open is hatched.
//! The same numbers stand in a table under it.

use maud::{Markup, html};

use crate::pages::told::au_range;
use crate::routes::weeks::WeeklyEntry;
use crate::services::plot_weeks::PlotWeek;

/// Of the drawing, in its own units; one is about a pixel on a telephone.
const WIDTH: f64 = 320.0;
const HEIGHT: f64 = 150.0;
/// The height of the bars, between the line of words above and the weeks below.
const TOP: f64 = 24.0;
const BASE: f64 = 128.0;

pub(super) const KEY: &str =
    "Filled: load as logged, at the least. Hatched: what unlogged or disputed sessions leave open.";
pub(super) const CAPTION: &str = "Weekly load, AU";
/// The columns of the table.
pub(super) const COLUMNS: [&str; 6] = [
    "Week",
    "As logged",
    "At least",
    "At most",
    "Sessions unlogged",
    "Days of absence",
];

/// The plot and its table; nothing where there are no weeks.
pub(super) fn figure(entry: &WeeklyEntry, weeks: &[PlotWeek]) -> Markup {
    html! {
        @if !weeks.is_empty() {
            figure {
                (drawing(entry, weeks))
                figcaption class="small" { (KEY) }
            }
            details {
                summary { "Weeks of " (entry.display_name) " as a table" }
                (table(weeks))
            }
        }
    }
}

/// What the drawing shows.
pub(super) fn title(entry: &WeeklyEntry, weeks: &[PlotWeek]) -> String {
    let week = |week: Option<&PlotWeek>| week.map_or_else(String::new, |it| it.week.to_string());
    let (first, last) = (week(weeks.first()), week(weeks.last()));
    let name = &entry.display_name;
    format!("Weekly load of {name}, AU, {first} to {last}")
}

/// The drawing, which needs no style from outside.
pub(super) fn drawing(entry: &WeeklyEntry, weeks: &[PlotWeek]) -> Markup {
    let scale = Scale::of(entry, weeks);
    let id = entry.athlete_id;
    html! {
        svg role="img" aria-labelledby={ "title-" (id) " desc-" (id) }
            viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } xmlns="http://www.w3.org/2000/svg"
            font-family="sans-serif" font-size="11" {
            title id={ "title-" (id) } { (title(entry, weeks)) }
            desc id={ "desc-" (id) } { (described(entry, weeks)) ". Every week is in the table below." }
            defs {
                pattern id={ "open-" (id) } width="5" height="5" patternUnits="userSpaceOnUse"
                    patternTransform="rotate(45)" {
                    rect width="5" height="5" fill="#fff" {}
                    line x1="0" y1="0" x2="0" y2="5" stroke="#000" stroke-width="2" {}
                }
            }
            @for (place, week) in weeks.iter().enumerate() { (bar(week, place, weeks.len(), &scale, &format!("url(#open-{id})"))) }
            line x1="0" y1=(BASE) x2=(WIDTH) y2=(BASE) stroke="#000" {}
            (limit(entry, &scale))
            text x="0" y="12" { (described(entry, weeks)) }
        }
    }
}

/// The words of the plot: the listed week's load, and its limit where it is one of load.
pub(super) fn described(entry: &WeeklyEntry, weeks: &[PlotWeek]) -> String {
    let last = weeks.last().map(|week| {
        let load = au_range(week.load.low.to_au(), week.load.high.to_au());
        format!("{}: {load}", week.week)
    });
    let limit = entry.limit_au.map(|limit| au_range(limit.low, limit.high));
    let limit = limit.map(|limit| format!("; limit for it: {limit}"));
    format!("{}{}", last.unwrap_or_default(), limit.unwrap_or_default())
}

/// AU to height.
struct Scale {
    most: f64,
}

impl Scale {
    fn of(entry: &WeeklyEntry, weeks: &[PlotWeek]) -> Self {
        let highs = weeks.iter().map(|week| week.load.high.to_au());
        let limit = entry.limit_au.map_or(0.0, |limit| limit.high);
        Self {
            most: highs.fold(limit, f64::max).max(1.0),
        }
    }

    fn y(&self, au: f64) -> f64 {
        let y = BASE - (BASE - TOP) * au / self.most;
        (y * 10.0).round() / 10.0
    }
}

fn bar(week: &PlotWeek, place: usize, weeks: usize, scale: &Scale, open: &str) -> Markup {
    // Ten places, the listed week on the right, however few weeks there are.
    let places = f64::from(u32::try_from(weeks.max(10)).unwrap_or(10));
    let before_end = f64::from(u32::try_from(weeks - place).unwrap_or(1));
    let slot = WIDTH / places;
    let x = WIDTH - before_end * slot;
    let (low, high) = (
        scale.y(week.load.low.to_au()),
        scale.y(week.load.high.to_au()),
    );
    let wide = slot - 8.0;
    html! {
        @if low < BASE {
            rect x=(x + 4.0) y=(low) width=(wide) height=(BASE - low) fill="#767676" {}
        }
        @if high < low {
            rect x=(x + 4.0) y=(high) width=(wide) height=(low - high) fill=(open) stroke="#000" {}
        }
        @if week.is_absence() {
            @let (middle, low) = (x + slot / 2.0 + 4.0, BASE - 8.0);
            text x=(middle) y=(low) transform={ "rotate(-90 " (middle) " " (low) ")" } { "absence" }
        }
        text x=(x + slot / 2.0) y=(BASE + 15.0) text-anchor="middle" {
            (format!("W{:02}", week.week.number()))
        }
    }
}

/// The limit of the listed week: one line, or two where loads in doubt move it.
fn limit(entry: &WeeklyEntry, scale: &Scale) -> Markup {
    html! {
        @if let Some(limit) = entry.limit_au {
            @let heights = if limit.low == limit.high { vec![limit.low] } else { vec![limit.low, limit.high] };
            @for au in &heights {
                line x1="0" y1=(scale.y(*au)) x2=(WIDTH) y2=(scale.y(*au)) stroke="#000"
                    stroke-width="2" stroke-dasharray="6 3" {}
            }
        }
    }
}

fn table(weeks: &[PlotWeek]) -> Markup {
    html! {
        table {
            caption { (CAPTION) }
            thead {
                tr {
                    @for (place, name) in COLUMNS.iter().enumerate() {
                        th scope="col" class=[(place > 0).then_some("n")] { (name) }
                    }
                }
            }
            tbody {
                @for [week, figures @ ..] in rows(weeks) {
                    tr {
                        th scope="row" { (week) }
                        @for figure in figures { td class="n" { (figure) } }
                    }
                }
            }
        }
    }
}

/// The rows of the table, a week each.
pub(super) fn rows(weeks: &[PlotWeek]) -> impl Iterator<Item = [String; 6]> {
    weeks.iter().map(|week| {
        [
            week.week.to_string(),
            week.load.point.to_au().to_string(),
            week.load.low.to_au().to_string(),
            week.load.high.to_au().to_string(),
            week.unlogged.to_string(),
            week.absent_days.to_string(),
        ]
    })
}
