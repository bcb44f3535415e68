//! Tables of a history, the same on its page and on its sheet.

use crate::pages::table::{Cell, Column, Table};
use crate::pages::told::words;
use crate::routes::history::{
    BackShare, CountedWeek, KindOfSession, ReturnStep, SideResult, TestedDay, WeekOfHistory,
};
use crate::web::figures::LoadBounds;
use crate::web::finding::AuBounds;

/// A load with its bounds, where there are any.
pub(super) fn span(load: LoadBounds) -> String {
    bounds(load.low, load.point, load.high, "AU")
}

fn bounds(low: f64, point: f64, high: f64, unit: &str) -> String {
    if low == high {
        format!("{point} {unit}")
    } else {
        format!("{point} {unit} as logged, {low} to {high}")
    }
}

/// A reason in words.
fn because(reason: Option<&str>) -> String {
    let why = reason.map(|reason| format!(" ({})", words(reason)));
    format!("cannot be told{}", why.unwrap_or_default())
}

/// What of the load before the absence is back, and of the jumps and throws that were counted.
pub(super) fn back(parts: &[BackShare]) -> Table {
    let row = |part: &BackShare| {
        let before = part.before_au_week.map(|au| format!("{au} AU"));
        let now = part.now_au_week;
        let now = now.map(|now| bounds(now.low, now.point, now.high, "AU"));
        let told = |load: Option<String>, counted: Option<CountedWeek>| {
            let counted = counted.map(a_week);
            load.or(counted).unwrap_or_else(|| "not known".to_owned())
        };
        vec![
            Cell::from(part.part),
            told(before, part.before_count_week).into(),
            told(now, part.now_count_week).into(),
            share(part).into(),
        ]
    };
    Table {
        caption: "Mean week of the last 28 days of the span against the mean week before the absence",
        columns: ["Part", "Before", "Now", "Share"].map(Column::words).into(),
        rows: parts.iter().map(row).collect(),
    }
}

/// What was counted in a mean week, and in how many sessions nobody did.
fn a_week(counted: CountedWeek) -> String {
    let number = match (counted.mean, counted.at_least) {
        (Some(mean), false) => format!("{mean} counted"),
        (Some(mean), true) => format!("at least {mean} counted"),
        (None, _) => "none counted".to_owned(),
    };
    format!(
        "{number}; {} sessions not counted",
        counted.sessions_not_counted
    )
}

fn share(part: &BackShare) -> String {
    let share = part.share_pct;
    match (share.low, share.point, share.high) {
        (Some(low), Some(point), Some(high)) => bounds(low, point, high, "%"),
        _ => because(share.reason),
    }
}

/// The weeks since the absence against their ceilings.
pub(super) fn since_return(weeks: &[ReturnStep]) -> Table {
    let row = |week: &ReturnStep| {
        let share = week.share_of_pre_absence_pct;
        vec![
            Cell::from(format!("{} ({} to {})", week.week, week.from, week.to)),
            week.step.into(),
            span(week.load_au).into(),
            format!("{} ({})", ceiling(week.ceiling_au), week.binding).into(),
            week.over_by_au.into(),
            share
                .map(|share| share.to_string())
                .unwrap_or_default()
                .into(),
        ]
    };
    Table {
        caption: "Weeks of seven days since the absence",
        columns: vec![
            Column::words("Week"),
            Column::number("Step"),
            Column::words("Done"),
            Column::words("Ceiling, AU"),
            Column::number("Above it by, AU"),
            Column::number("Of the week before, %"),
        ],
        rows: weeks.iter().map(row).collect(),
    }
}

fn ceiling(ceiling: AuBounds) -> String {
    match ceiling.low == ceiling.high {
        true => ceiling.point.to_string(),
        false => format!(
            "{} to {}, {} as logged",
            ceiling.low, ceiling.high, ceiling.point
        ),
    }
}

/// Every week of the span.
pub(super) fn weeks(weeks: &[WeekOfHistory]) -> Table {
    let row = |week: &WeekOfHistory| {
        let absent = format!("{} days, absent {}", week.days, week.days_absent);
        let made_of = format!(
            "{} sessions, {} minutes; of {} expected {} unlogged",
            week.sessions, week.minutes, week.expected, week.unlogged
        );
        vec![
            Cell::with(week.week.clone(), vec![absent]),
            span(week.load_au).into(),
            Cell::with(made_of, week.by_kind.iter().map(of_kind).collect()),
        ]
    };
    Table {
        caption: "Load by ISO week",
        columns: ["Week", "Load", "Made of"].map(Column::words).into(),
        rows: weeks.iter().map(row).collect(),
    }
}

fn of_kind(kind: &KindOfSession) -> String {
    let KindOfSession {
        kind,
        load_au,
        sessions,
        minutes,
        unlogged,
    } = kind;
    let load = span(*load_au);
    format!("{kind}: {load}; {sessions} logged, {minutes} minutes; {unlogged} unlogged")
}

/// Tests of both sides.
pub(super) fn tests(tests: &[TestedDay]) -> Table {
    let columns = [
        "Test",
        "Measured",
        "Of the other side",
        "Of the other side before",
    ];
    Table {
        caption: "The involved side in per cent of the other one, and of the other one before the injury",
        columns: columns.map(Column::words).into(),
        rows: tests.iter().map(tested).collect(),
    }
}

fn tested(day: &TestedDay) -> Vec<Cell> {
    let said = [
        day.involved_side.map(|side| format!("; involved: {side}")),
        day.days_since_injury
            .map(|days| format!("; {days} days since the injury")),
        day.days_since_surgery
            .map(|days| format!("; {days} days since surgery")),
    ];
    let said: String = said.into_iter().flatten().collect();
    let when = format!("{}; {} is better{said}", day.tested_on, day.better);
    let lost = day.other_side_lost_pct;
    let lost = lost.map(|lost| format!("the other side has lost {lost} %"));
    let against = day.against_pre_injury_other_side_pct;
    vec![
        Cell::with(format!("{}, {}", words(&day.test), day.unit), vec![when]),
        Cell::with("", day.sides.iter().map(measured).collect()),
        figure(day.symmetry_pct, day.reason).into(),
        Cell::with(
            figure(against, day.against_reason),
            lost.into_iter().collect(),
        ),
    ]
}

fn figure(value: Option<f64>, reason: Option<&str>) -> String {
    value.map_or_else(|| because(reason), |value| format!("{value} %"))
}

fn measured(side: &SideResult) -> String {
    let trials: Vec<String> = side.trials.iter().map(f64::to_string).collect();
    let before = side.pre_injury_value.zip(side.pre_injury_tested_on);
    let before = before.map(|(before, on)| format!("; before the injury {before} ({on})"));
    let share = side.of_itself_before_pct;
    let share = share.map(|share| format!(", now {share} % of it"));
    format!(
        "{}: {} of {} ({}){}{}",
        side.side,
        side.value,
        trials.join(", "),
        side.tester,
        before.unwrap_or_default(),
        share.unwrap_or_default()
    )
}
