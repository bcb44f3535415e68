//! How each figure follows from the days, in words that another program can follow.

use serde::Serialize;
use utoipa::ToSchema;

/// A figure and its formula.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct Formula {
    /// The figure.
    #[schema(value_type = String, example = "ratio_coupled")]
    pub figure: &'static str,
    /// How it follows from the days.
    #[schema(value_type = String)]
    pub is: &'static str,
}

/// Every formula.
pub(super) fn formulas() -> Vec<Formula> {
    let formula = |(figure, is): &(&'static str, &'static str)| Formula { figure, is };
    FORMULAS.iter().map(formula).collect()
}

/// How each figure follows from the days.
#[rustfmt::skip] // One figure a line.
const FORMULAS: &[(&str, &str)] = &[
    ("sessions load_au", "rpe x minutes; where the minutes of reports, plan and attendance differ by more than 10 and by more than a tenth of the largest, low and high are the least and the most of every rpe x minutes of theirs"),
    ("load_au", "sum of the sessions' load_au and of what is shared; low without sessions that do not count in it, and of what is shared and of what she reports of a second club the larger; high with at_most_au of the unlogged"),
    ("acute_7d_au", "A: sum of load_au of the 7 dates that end with the date"),
    ("prior_21d_au", "P: sum of load_au of the 21 dates before those"),
    ("ratio_coupled", "4A / (A + P); low from A low and P high, high from A high and P low"),
    ("ratio_uncoupled", "3A / P; low from A low and P high, high from A high and P low"),
    ("chronic_week_au", "coupled (A + P) / 4, uncoupled P / 3"),
    ("ewma", "e = e + k (load - e) from the first membership date, k = 2 / (N + 1), N = 7 and 28, seed the first load"),
    ("monotony", "mean of 7 daily loads / their standard deviation, divisor n-1 (sample) or n (population)"),
    ("strain_au", "A x monotony; bounds are outer"),
    ("change", "A now - A of the 7 dates before; per cent of the earlier; by ISO week in the weeks"),
    ("own_highest", "of the last ISO weeks without absence and within 26, as many as the rule compares and 4 at least, the most load_au high"),
    ("change_from_own_highest", "load of the week - that load; per cent of that load"),
    ("usual", "the bounds with each unlogged session at the athlete's 10th to 90th percentile, by linear interpolation, of her last 8 to 30 own ratings of the kind in 27 weeks, in whole half AU, instead of 0 to 10"),
    ("ceiling_au", "share of the step x pre_absence_week_au, the mean of the last 4 of 13 known ISO weeks before the absence, 3 at least; a clinician's limit of the week where that is lower"),
    ("limit_au", "limit L: coupled L P / (4 - L), uncoupled L P / 3; own highest week L x its load; return ceiling_au"),
    ("over_by_au", "load of the days judged - limit_au; low from load low and limit high, high from load high and limit low"),
    ("rounding", "half to even on the exact value: 4 decimals, per cent and training strain 2"),
];
