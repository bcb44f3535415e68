//! Every figure of an entry, in a table.

use maud::{Markup, html};

use crate::pages::told::{au, au_range, words};
use crate::routes::weeks::{UsualRange, UsualWeek, WeeklyEntry};
use crate::web::figures::Change;
use crate::web::finding::{HighestWeek, ReturnWeek};

/// A row: what it is, and its value in words and numbers.
pub(super) type Row = (&'static str, String);

pub(super) const CAPTION: &str = "Figures of the week. AU: session RPE times minutes.";

/// The table, folded until it is wanted.
pub(super) fn table(entry: &WeeklyEntry) -> Markup {
    html! {
        details {
            summary { "All figures of " (entry.display_name) }
            table {
                caption { (CAPTION) }
                tbody {
                    @for (name, value) in rows(entry) {
                        tr { th scope="row" { (name) } td { (value) } }
                    }
                }
            }
        }
    }
}

/// Its rows; none for what there is not.
pub(super) fn rows(entry: &WeeklyEntry) -> Vec<Row> {
    let mut rows = judged(entry);
    rows.extend(entry.own_highest.as_ref().map(own_highest));
    rows.extend(entry.change_from_own_highest.map(from_own_highest));
    rows.extend(entry.returning.iter().flat_map(returning));
    rows.extend(entry.usual.iter().flat_map(usual));
    rows.extend(entry.usual_week.iter().flat_map(usual_week));
    let parts = entry.made_up_of.iter();
    let parts: Vec<String> = parts
        .map(|part| format!("{} {} AU", words(part.setting), part.au))
        .collect();
    rows.push(("Made up of", parts.join(", ")));
    let also = entry.also.iter();
    rows.extend(also.map(|also| {
        let said = format!("{}: {}", words(also.rule), words(also.certainty));
        ("Also raised", said)
    }));
    let version = |version: Option<i32>| version.map(|version| format!(", version {version}"));
    let flag = entry.flag_id.map(|flag| {
        let version = version(entry.flag_version).unwrap_or_default();
        ("Flag", format!("{flag}{version}"))
    });
    rows.extend(flag);
    rows.retain(|(_, value)| !value.is_empty());
    rows
}

/// What was judged, by which rule.
fn judged(entry: &WeeklyEntry) -> Vec<Row> {
    let load = entry.week_load_au;
    let mut rows = vec![
        ("Finding", words(entry.finding)),
        ("Certainty", words(entry.certainty)),
        ("Load of the week", au(load.point, load.low, load.high)),
    ];
    let limit = entry.limit_au;
    rows.extend(limit.map(|it| ("Load that meets the limit", au(it.point, it.low, it.high))));
    let over = entry.over_by_au;
    rows.extend(over.map(|it| ("Above the limit by", au(it.point, it.low, it.high))));
    rows.extend(entry.ratio.map(|ratio| {
        let figure = figure(ratio.point, ratio.low, ratio.high);
        ("Ratio on Sunday", format!("{} ({})", figure, ratio.kind))
    }));
    let monotony = entry.monotony;
    rows.extend(monotony.map(|it| ("Monotony, divisor n-1", figure(it.point, it.low, it.high))));
    rows.extend(entry.rule.as_ref().map(|rule| {
        let said = format!(
            "{}, limit {}, policy version {}; {}",
            words(rule.code),
            rule.limit,
            rule.policy_version,
            rule.source_note
        );
        ("Rule", said)
    }));
    rows.extend(entry.reason.map(|reason| ("Reason", words(reason))));
    let first = entry.first_ratio_date;
    rows.extend(first.map(|date| ("First date with a ratio", date.to_string())));
    rows
}

fn own_highest(highest: &HighestWeek) -> Row {
    let HighestWeek {
        week,
        load_au,
        weeks_used,
    } = highest;
    let said = format!("{load_au} AU in {week}, of {weeks_used} weeks");
    ("Own highest earlier week", said)
}

fn from_own_highest(change: Change) -> Row {
    let pct = figure(change.pct.point, change.pct.low, change.pct.high);
    let au = change.au.map(|au| format!("{au} AU, "));
    let why = change.reason.map(|reason| format!(" ({})", words(reason)));
    let (au, why) = (au.unwrap_or_default(), why.unwrap_or_default());
    ("Change from it", format!("{au}{pct} %{why}"))
}

fn returning(week: &ReturnWeek) -> Vec<Row> {
    let (absence, load, ceiling) = (&week.absence, week.load_au, week.ceiling_au);
    let share = |pct: Option<f64>| pct.map_or_else(String::new, |pct| format!("{pct} %"));
    vec![
        (
            "Absence",
            format!("{} to {}, {} days", absence.from, absence.to, absence.days),
        ),
        (
            "Week after the absence",
            format!(
                "{}, {} to {}, step {}",
                week.week, week.from, week.to, week.step
            ),
        ),
        ("Its load", au(load.point, load.low, load.high)),
        ("Its ceiling", au(ceiling.point, ceiling.low, ceiling.high)),
        ("Whose limit it is", week.binding.to_owned()),
        (
            "Mean week before the absence",
            format!(
                "{} AU, of {} weeks",
                week.pre_absence_week_au, week.weeks_used
            ),
        ),
        ("Share of it", share(week.share_of_pre_absence_pct)),
        ("Share, mean of four weeks", share(week.four_week_mean_pct)),
    ]
}

fn usual(usual: &UsualRange) -> Vec<Row> {
    let load = &usual.week_load_au;
    let mut rows = vec![(
        "Where the week usually lies",
        format!("{} ({})", au_range(load.low, load.high), usual.label),
    )];
    rows.extend(usual.ratio.as_ref().map(|ratio| {
        let said = format!("{} to {} ({})", ratio.low, ratio.high, ratio.kind);
        ("Where the ratio usually lies", said)
    }));
    rows
}

fn usual_week(usual: &UsualWeek) -> Vec<Row> {
    let distance = |z: Option<f64>| z.map_or_else(String::new, |z| z.to_string());
    vec![
        (
            "Her usual week, mean",
            format!(
                "{} AU, standard deviation {} AU, of {} weeks",
                usual.mean_au, usual.standard_deviation_au, usual.weeks_used
            ),
        ),
        (
            "Distance from it, in standard deviations",
            distance(usual.z),
        ),
        (
            "Her usual week, median",
            format!(
                "{} AU, median absolute deviation {} AU",
                usual.median_au, usual.median_deviation_au
            ),
        ),
        (
            "Distance from it, in 1.4826 median absolute deviations",
            distance(usual.robust_z),
        ),
    ]
}

/// A figure that may not exist, or not be bounded.
fn figure(point: Option<f64>, low: Option<f64>, high: Option<f64>) -> String {
    let said = |value: Option<f64>| value.map_or_else(|| "no figure".into(), |it| it.to_string());
    if low == point && high == point {
        return said(point);
    }
    let high = high.map_or_else(|| "no upper bound".into(), |high| high.to_string());
    format!("{} as logged; {} to {high}", said(point), said(low))
}
