//! Tables of a history's page.

use maud::{Markup, html};

use crate::pages::told::words;
use crate::routes::history::{
    BackShare, HistoryAnswer, KindOfSession, SideResult, TestedDay, WeekOfHistory,
};
use crate::web::figures::LoadBounds;

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

/// What of the load before the absence is back.
pub(super) fn back(parts: &[BackShare]) -> Markup {
    html! {
        table {
            caption { "Mean week of the last 28 days of the span against the mean week before the absence" }
            thead {
                tr {
                    th scope="col" { "Part" }
                    th scope="col" { "Before" }
                    th scope="col" { "Now" }
                    th scope="col" { "Share" }
                }
            }
            tbody {
                @for part in parts {
                    tr {
                        th scope="row" { (part.part) }
                        td { @if let Some(au) = part.before_au_week { (au) " AU" } @else { "not known" } }
                        td {
                            @match part.now_au_week {
                                Some(now) => (bounds(now.low, now.point, now.high, "AU")),
                                None => "not known",
                            }
                        }
                        td { (share(part)) }
                    }
                }
            }
        }
    }
}

fn share(part: &BackShare) -> String {
    let share = part.share_pct;
    match (share.low, share.point, share.high) {
        (Some(low), Some(point), Some(high)) => bounds(low, point, high, "%"),
        _ => because(share.reason),
    }
}

/// The weeks since the absence against their ceilings.
pub(super) fn since_return(answer: &HistoryAnswer) -> Markup {
    html! {
        table {
            caption { "Weeks of seven days since the absence" }
            thead {
                tr {
                    th scope="col" { "Week" }
                    th scope="col" class="n" { "Step" }
                    th scope="col" { "Done" }
                    th scope="col" { "Ceiling, AU" }
                    th scope="col" class="n" { "Above it by, AU" }
                    th scope="col" class="n" { "Of the week before, %" }
                }
            }
            tbody {
                @for week in &answer.since_return {
                    tr {
                        th scope="row" { (week.week) " (" (week.from) " to " (week.to) ")" }
                        td class="n" { (week.step) }
                        td { (span(week.load_au)) }
                        td {
                            @let ceiling = week.ceiling_au;
                            @if ceiling.low == ceiling.high { (ceiling.point) }
                            @else { (ceiling.low) " to " (ceiling.high) ", " (ceiling.point) " as logged" }
                            " (" (week.binding) ")"
                        }
                        td class="n" { (week.over_by_au) }
                        td class="n" {
                            @if let Some(share) = week.share_of_pre_absence_pct { (share) }
                        }
                    }
                }
            }
        }
    }
}

/// Every week of the span.
pub(super) fn weeks(weeks: &[WeekOfHistory]) -> Markup {
    html! {
        table {
            caption { "Load by ISO week" }
            thead {
                tr {
                    th scope="col" { "Week" }
                    th scope="col" { "Load" }
                    th scope="col" { "Made of" }
                }
            }
            tbody { @for week in weeks { (of_week(week)) } }
        }
    }
}

fn of_week(week: &WeekOfHistory) -> Markup {
    html! {
        tr {
            th scope="row" {
                (week.week) br;
                span class="small" { (week.days) " days, absent " (week.days_absent) }
            }
            td { (span(week.load_au)) }
            td {
                (week.sessions) " sessions, " (week.minutes) " minutes; of " (week.expected) " expected "
                (week.unlogged) " unlogged"
                @for kind in &week.by_kind { br; span class="small" { (of_kind(kind)) } }
            }
        }
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
pub(super) fn tests(tests: &[TestedDay]) -> Markup {
    html! {
        table {
            caption { "The involved side in per cent of the other one, and of the other one before the injury" }
            thead {
                tr {
                    th scope="col" { "Test" }
                    th scope="col" { "Measured" }
                    th scope="col" { "Of the other side" }
                    th scope="col" { "Of the other side before" }
                }
            }
            tbody { @for day in tests { (tested(day)) } }
        }
    }
}

fn tested(day: &TestedDay) -> Markup {
    html! {
        tr {
            th scope="row" {
                (words(&day.test)) ", " (day.unit) br;
                span class="small" {
                    (day.tested_on) "; " (day.better) " is better"
                    @if let Some(side) = day.involved_side { "; involved: " (side) }
                    @if let Some(days) = day.days_since_injury { "; " (days) " days since the injury" }
                    @if let Some(days) = day.days_since_surgery { "; " (days) " days since surgery" }
                }
            }
            td { @for side in &day.sides { (measured(side)) br; } }
            td { (figure(day.symmetry_pct, day.reason)) }
            td {
                (figure(day.against_pre_injury_other_side_pct, day.against_reason))
                @if let Some(lost) = day.other_side_lost_pct {
                    br; span class="small" { "the other side has lost " (lost) " %" }
                }
            }
        }
    }
}

fn figure(value: Option<f64>, reason: Option<&str>) -> String {
    value.map_or_else(|| because(reason), |value| format!("{value} %"))
}

fn measured(side: &SideResult) -> Markup {
    let trials: Vec<String> = side.trials.iter().map(f64::to_string).collect();
    html! {
        (side.side) ": " strong { (side.value) } span class="small" {
            " of " (trials.join(", ")) span class="screen" { " (" (side.tester) ")" }
            @if let (Some(before), Some(on)) = (side.pre_injury_value, side.pre_injury_tested_on) {
                "; before the injury " (before) " (" (on) ")"
            }
            @if let Some(share) = side.of_itself_before_pct { ", now " (share) " % of it" }
        }
    }
}
