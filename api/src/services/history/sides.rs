//! Tests of a history: each test and day with both sides, and what it is compared with.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use plimsoll_domain::{
    AtPassMark, Better, BothSides, Measured, Phase, Side, Symmetry, TrialsBy, at_pass_mark,
    symmetry,
};

use super::span::HistorySpan;
use crate::store::Versioned;
use crate::store::injuries::Injury;
use crate::store::test_results::TestResult;

/// One test on one day.
#[derive(Debug, Clone)]
pub struct TestDay {
    /// The test's name.
    pub test: String,
    /// The unit of its trials.
    pub unit: String,
    /// Which way is better.
    pub better: Better,
    /// The day.
    pub tested_on: Date,
    /// What was measured on the day, left, right and without sides.
    pub results: Vec<TestResult>,
    /// What the sides came to before the injury, left and right.
    pub before: [Option<TestResult>; 2],
    /// The injured side, if an injury was entered by then.
    pub involved: Option<Side>,
    /// Days since the newest injury, and since the newest surgery.
    pub days_since: (Option<i64>, Option<i64>),
    /// The sides compared.
    pub symmetry: Symmetry,
}

/// The tests of a span.
#[derive(Debug, Clone)]
pub struct Tests {
    /// Test by test in the order of their names, the newest day first.
    pub days: Vec<TestDay>,
    /// How many reach the usual pass mark, the newest day of each test.
    pub at_pass_mark: AtPassMark,
    /// What of its trials a result stands for.
    pub trials_by: TrialsBy,
    /// The injuries known by the end of the span, by day.
    pub injuries: Vec<Injury>,
}

type TestKey<'a> = (&'a str, &'a str, Better);

/// Puts the sides of each test and day together. Of two results of one test, side and day the newest
/// counts.
pub(super) fn tests(
    mut results: Vec<Versioned<TestResult>>,
    injuries: Vec<Injury>,
    span: &HistorySpan,
    trials_by: TrialsBy,
) -> Tests {
    results.sort_by_key(|result| result.version.seq);
    let results: Vec<&TestResult> = results.iter().map(|result| &result.content).collect();
    let mut of_tests: BTreeMap<TestKey<'_>, BTreeSet<Date>> = BTreeMap::new();
    let shown = results.iter().filter(|one| one.phase == Phase::Post);
    for result in shown.filter(|one| span.holds(one.tested_on)) {
        let days = of_tests.entry(key(result)).or_default();
        days.insert(result.tested_on);
    }
    let day = |(test, days): (TestKey<'_>, BTreeSet<Date>)| {
        let of_test: Vec<&TestResult> = results
            .iter()
            .filter(|one| key(one) == test)
            .copied()
            .collect();
        let newest_first = days.into_iter().rev();
        let days = newest_first.map(|date| test_day(&of_test, date, &injuries, trials_by));
        days.collect::<Vec<_>>()
    };
    let of_each: Vec<Vec<TestDay>> = of_tests.into_iter().map(day).collect();
    let newest = of_each.iter().filter_map(|days| days.first());
    let newest: Vec<Symmetry> = newest.map(|day| day.symmetry).collect();
    Tests {
        at_pass_mark: at_pass_mark(&newest),
        days: of_each.into_iter().flatten().collect(),
        trials_by,
        injuries,
    }
}

fn key(result: &TestResult) -> TestKey<'_> {
    (&result.test, &result.unit, result.better)
}

/// One test on one day; `of_test` are its results, the newest entry last.
fn test_day(
    of_test: &[&TestResult],
    date: Date,
    injuries: &[Injury],
    trials_by: TrialsBy,
) -> TestDay {
    let first = of_test[0];
    let known = injuries.iter().filter(|injury| injury.injured_on <= date);
    let involved = known.clone().map(|injury| injury.side).reduce(both);
    let before_all = known.clone().map(|injury| injury.injured_on).min();
    let on_day = |side: Side| {
        let mut results = of_test.iter().rev();
        let fits =
            |one: &&&TestResult| (one.phase, one.side, one.tested_on) == (Phase::Post, side, date);
        results.find(fits).map(|one| (*one).clone())
    };
    let before =
        [Side::Left, Side::Right].map(|side| before(of_test, side, before_all.unwrap_or(date)));
    let measured = |result: &Option<TestResult>| -> Option<Measured> {
        let result = result.as_ref()?;
        Some(result.trials.measured(trials_by, result.better))
    };
    let now = [Side::Left, Side::Right].map(on_day);
    let sides = BothSides {
        better: first.better,
        now: now.each_ref().map(measured),
        before: before.each_ref().map(measured),
    };
    let since = |day: Option<Date>| day.map(|day| date.duration_since(day).as_hours() / 24);
    let surgeries = known.clone().filter_map(|injury| injury.surgery_on);
    TestDay {
        test: first.test.clone(),
        unit: first.unit.clone(),
        better: first.better,
        tested_on: date,
        symmetry: symmetry(&sides, involved),
        days_since: (
            since(known.map(|injury| injury.injured_on).max()),
            since(surgeries.filter(|day| *day <= date).max()),
        ),
        results: now
            .into_iter()
            .chain([on_day(Side::Both)])
            .flatten()
            .collect(),
        before,
        involved,
    }
}

/// The newest result of a side from before a day.
fn before(of_test: &[&TestResult], side: Side, date: Date) -> Option<TestResult> {
    let fits =
        |one: &&&TestResult| one.phase == Phase::Pre && one.side == side && one.tested_on < date;
    let found = of_test.iter().filter(fits);
    found
        .max_by_key(|one| one.tested_on)
        .map(|one| (*one).clone())
}

/// One side, or both where they differ.
fn both(one: Side, other: Side) -> Side {
    if one == other { one } else { Side::Both }
}
