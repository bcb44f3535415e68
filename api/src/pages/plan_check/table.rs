//! One row a week.

use super::words::whose;
use crate::pages::table::{Cell, Column, Table};
use crate::pages::told::words;
use crate::routes::plans::{PlanCheckAnswer, PlanLandings, PlanWarmUp, PlanWeek};

/// The weeks of a check.
pub(super) fn weeks(check: &PlanCheckAnswer) -> Table {
    let said = Said::of(std::slice::from_ref(check));
    Table {
        caption: "Each planned week as if it were done",
        columns: said.columns("Week"),
        rows: check.weeks.iter().map(|week| said.row(week)).collect(),
    }
}

/// The weeks of each athlete of a squad in one table.
pub(super) fn weeks_of_squad(checks: &[PlanCheckAnswer]) -> Table {
    let said = Said::of(checks);
    let row = |check: &PlanCheckAnswer, week: &PlanWeek| {
        let mut cells = said.row(week);
        if let Some(name) = cells.first_mut() {
            let date = week.monday.to_string();
            *name = Cell::with(format!("{}, {}", whose(check), week.week), vec![date]);
        }
        cells
    };
    let rows = checks.iter().flat_map(|check| {
        let weeks = check.weeks.iter();
        weeks.map(move |week| row(check, week))
    });
    Table {
        caption: "Each planned week of each athlete as if it were done",
        columns: said.columns("Athlete and week"),
        rows: rows.collect(),
    }
}

/// Of what a plan says something, so that there is a column for it.
struct Said {
    landings: bool,
    warm_ups: bool,
}

impl Said {
    fn of(checks: &[PlanCheckAnswer]) -> Self {
        let mut weeks = checks.iter().flat_map(|check| &check.weeks);
        Self {
            landings: weeks.clone().any(|week| week.landings.is_some()),
            warm_ups: weeks.any(|week| week.warm_up.is_some()),
        }
    }

    fn columns(&self, first: &'static str) -> Vec<Column> {
        let mut columns = vec![
            Column::words(first),
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
        columns.extend(self.landings.then(|| Column::number("Planned landings")));
        columns.extend(self.warm_ups.then(|| Column::words("Planned warm-up")));
        columns
    }

    fn row(&self, week: &PlanWeek) -> Vec<Cell> {
        let mut cells = row(week);
        let none = || Cell::from(String::new());
        if self.landings {
            cells.push(week.landings.as_ref().map_or_else(none, landings));
        }
        if self.warm_ups {
            cells.push(week.warm_up.as_ref().map_or_else(none, warm_up));
        }
        cells
    }
}

/// Landings, as far as they are said.
fn landings(planned: &PlanLandings) -> Cell {
    let events = match (planned.nothing_said, planned.at_least) {
        (true, _) => "nothing said".to_owned(),
        (false, true) => format!("at least {}", planned.events),
        (false, false) => planned.events.to_string(),
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
    let held = match (planned.sessions, warm_up.sessions_not_said) {
        (0, 1..) => "nothing said".to_owned(),
        (sessions, _) => format!("{sessions} of {} min", planned.minutes),
    };
    Cell::with(held, small)
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
    vec![
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
    ]
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
    // Each reason once: where nothing is said, that is so for several rules.
    let mut open: Vec<(String, Vec<String>)> = Vec::new();
    for one in &week.not_computable {
        let (reason, rule) = (words(one.reason), words(one.rule));
        match open.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, rules)) => rules.push(rule),
            None => open.push((reason, vec![rule])),
        }
    }
    let open = open
        .into_iter()
        .map(|(reason, rules)| format!("cannot be judged ({reason}): {}", rules.join(", ")));
    rules.into_iter().chain(open).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_week_that_says_nothing_of_landings_has_not_none() {
        let of = |nothing_said| {
            let planned = PlanLandings {
                events: 0,
                left_leg: 0,
                right_leg: 0,
                loaded: 0,
                hands: 0,
                at_least: false,
                sessions_not_said: 1,
                nothing_said,
            };
            landings(&planned).text
        };
        assert_eq!([of(true), of(false)], ["nothing said", "0"]);
    }
}
