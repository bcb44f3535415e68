//! Planned load of each week as a bar, with the week's limit as a line over it. Black on white; the numbers stand in the table.

use maud::{Markup, html};

use crate::pages::sheet::Block;
use crate::routes::plans::{PlanCheckAnswer, PlanWeek};

/// Of the drawing, in its own units.
const WIDTH: f64 = 480.0;
const HEIGHT: f64 = 170.0;
/// The height of the bars, between the line of words above and the weeks below.
const TOP: f64 = 24.0;
const BASE: f64 = 148.0;
/// Room that a week's name needs.
const NAME: f64 = 36.0;

const KEY: &str = "Bars: planned load. Dashes: the load that just meets the limit on the ratio, where it can be judged. A bar that goes \
    through its dash is above the limit; a limit above the highest bar is not drawn.";

const IN_TABLE: &str = "Every number is in the table.";

/// The plot of one check on a page.
pub(super) fn figure(place: usize, check: &PlanCheckAnswer) -> Markup {
    html! {
        figure {
            (drawing(place, check))
            figcaption class="small" { (KEY) }
        }
    }
}

/// The same on a sheet.
pub(super) fn block(place: usize, check: &PlanCheckAnswer) -> Block {
    Block::Drawing {
        svg: drawing(place, check).into_string(),
        alt: format!("{} {}", described(check), IN_TABLE),
        key: KEY.to_owned(),
        width_mm: None,
    }
}

fn drawing(place: usize, check: &PlanCheckAnswer) -> Markup {
    let (title, told) = (format!("title-{place}"), format!("desc-{place}"));
    let slot = WIDTH / width(check.weeks.len());
    let most = most(check);
    html! {
        svg role="img" aria-labelledby={ (title) " " (told) } viewBox={ "0 0 " (WIDTH) " " (HEIGHT) }
            xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" font-size="11" {
            title id=(title) { "Planned load against the limit, AU, " (check.first_week) " to " (check.last_week) }
            desc id=(told) { (described(check)) " " (IN_TABLE) }
            text x="0" y="12" { "Planned load against the limit, AU; the highest bar is " (most) }
            @for (at, week) in check.weeks.iter().enumerate() { (bar(week, width(at) * slot, slot, most)) }
            line x1="0" y1=(BASE) x2=(WIDTH) y2=(BASE) stroke="#000" {}
            @for (at, week) in named(check, slot) {
                text x=(width(at) * slot) y=(BASE + 15.0) { (week.week.get(5..).unwrap_or_default()) }
            }
        }
    }
}

/// A count as a length.
fn width(count: usize) -> f64 {
    u32::try_from(count).map_or(0.0, f64::from)
}

/// What the drawing shows.
fn described(check: &PlanCheckAnswer) -> String {
    match check.weeks_over.as_slice() {
        [] => "No week is above the limit that can be judged.".to_owned(),
        over => format!(
            "Above the limit, or possibly so as the table says: {}.",
            over.join(", ")
        ),
    }
}

/// The highest planned load.
fn most(check: &PlanCheckAnswer) -> f64 {
    let loads = check.weeks.iter().map(|week| week.load_au);
    loads.fold(1.0, f64::max)
}

fn y(au: f64, most: f64) -> f64 {
    let y = BASE - (BASE - TOP) * au / most;
    (y * 10.0).round() / 10.0
}

fn bar(week: &PlanWeek, x: f64, slot: f64, most: f64) -> Markup {
    let limit = week
        .limit_au
        .map(|limit| limit.point)
        .filter(|limit| *limit <= most);
    html! {
        rect x=(x + slot * 0.15) y=(y(week.load_au, most)) width=(slot * 0.7) height=(BASE - y(week.load_au, most)) fill="#767676" {}
        @if let Some(limit) = limit {
            line x1=(x) y1=(y(limit, most)) x2=(x + slot) y2=(y(limit, most)) stroke="#000" stroke-width="2" {}
        }
    }
}

/// The weeks whose names have room.
fn named(check: &PlanCheckAnswer, slot: f64) -> impl Iterator<Item = (usize, &PlanWeek)> {
    let room = check.weeks.len().min(
        (1..60)
            .find(|step| width(*step) * slot >= NAME)
            .unwrap_or(60),
    );
    check.weeks.iter().enumerate().step_by(room.max(1))
}
