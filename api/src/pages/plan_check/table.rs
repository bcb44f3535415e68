//! One row a week.

use crate::pages::table::{Cell, Column, Table};
use crate::pages::told::words;
use crate::routes::plans::{PlanCheckAnswer, PlanLandings, PlanWarmUp, PlanWeek};

/// The weeks of a check.
pub(super) fn weeks(check: &PlanCheckAnswer) -> Table {
    let mut columns = vec![
        Column::words("Week"),
        Column::number("Planned AU"),
        Column::number("Limit AU"),
        Column::number("Above by AU"),
        Column::number("Coupled ratio"),
        Column::number("Change %"),
        Column::number("Hours"),
        Column::number("Free days"),
        Column::number("Games"),
        Column::words("Rules broken, and what cannot be judged"),
    ];
    if check.weeks.iter().any(|week| week.landings.is_some()) {
        columns.push(Column::number("Planned landings"));
    }
    if check.weeks.iter().any(|week| week.warm_up.is_some()) {
        columns.push(Column::words("Planned warm-up"));
    }
    Table {
        caption: "Each planned week as if it were done",
        columns,
        rows: check.weeks.iter().map(row).collect(),
    }
}

/// Landings, as far as they are said.
fn landings(planned: &PlanLandings) -> Cell {
    let events = match planned.at_least {
        true => format!("at least {}", planned.events),
        false => planned.events.to_string(),
    };
    Cell::with(events, not_said(planned.sessions_not_said))
}

/// A warm-up, as far as it is said.
fn warm_up(warm_up: &PlanWarmUp) -> Cell {
    let planned = &warm_up.planned;
    let mut small = vec![planned.categories.join(", ")];
    small.push(match planned.feedback {
        true => "with feedback".to_owned(),
        false => "no feedback said".to_owned(),
    });
    small.retain(|line| !line.is_empty() && planned.sessions > 0);
    small.extend(not_said(warm_up.sessions_not_said));
    Cell::with(
        format!("{} of {} min", planned.sessions, planned.minutes),
        small,
    )
}

fn not_said(sessions: u32) -> Vec<String> {
    match sessions {
        0 => Vec::new(),
        1 => vec!["1 session not said".to_owned()],
        many => vec![format!("{many} sessions not said")],
    }
}

fn row(week: &PlanWeek) -> Vec<Cell> {
    let figure = |value: Option<f64>| Cell::from(number(value));
    let above = week
        .over_by_au
        .map_or_else(String::new, |over| above(over.low, over.high));
    let mut cells = vec![
        Cell::with(week.week.clone(), vec![week.monday.to_string()]),
        Cell::from(week.load_au),
        figure(week.limit_au.map(|limit| limit.point)),
        Cell::from(above),
        figure(week.ratio_coupled.point),
        figure(week.change_from_previous_week.pct.point),
        Cell::from(week.organised_hours),
        Cell::from(week.free_days),
        Cell::from(week.games),
        Cell::from(broken(week)),
    ];
    cells.extend(week.landings.as_ref().map(landings));
    cells.extend(week.warm_up.as_ref().map(warm_up));
    cells
}

/// How far above the limit: as a fact only where the least is above it.
fn above(low: f64, high: f64) -> String {
    match (low > 0.0, high > 0.0) {
        (true, _) if (high - low).abs() < f64::EPSILON => low.to_string(),
        (true, _) => format!("{low} to {high}"),
        (false, true) => format!("possibly, up to {high}"),
        (false, false) => String::new(),
    }
}

/// A number, or that there is none.
fn number(value: Option<f64>) -> String {
    value.map_or_else(|| "cannot say".to_owned(), |value| value.to_string())
}

fn broken(week: &PlanWeek) -> String {
    let rules = week.rules_broken.iter();
    let rules: Vec<String> = rules
        .map(|broken| format!("{} ({})", words(broken.rule), broken.certainty))
        .collect();
    let open = week.not_computable.iter();
    let open = open.map(|open| {
        format!(
            "{} cannot be judged ({})",
            words(open.rule),
            words(open.reason)
        )
    });
    rules.into_iter().chain(open).collect::<Vec<_>>().join(", ")
}
