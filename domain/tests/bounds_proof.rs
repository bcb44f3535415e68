//! The bounds proved: equal to brute force over every completion of small cases, and never narrower
//! than the truth in random completions of large ones. The seeds are fixed.
#![allow(clippy::unwrap_used)]

mod common;

use std::cell::Cell;

use common::{athlete_week, example_policy, member, open_sessions};
use jiff::civil::{Date, date};
use plimsoll_domain::missing::break_even;
use plimsoll_domain::monotony::monotony;
use plimsoll_domain::{
    Absence, Bounds, Certainty, DailySeries, DayFacts, DayFigures, DayTotal, Figure,
    FigureSettings, Fraction, Judgement, Load, Outcome, Policy, RuleCode, day_figures,
};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

/// A Monday.
const FIRST: Date = date(2026, 9, 7);
const SMALL_CASES: u32 = 2_000;
const COMPLETIONS: u32 = 10_000;

fn runner(cases: u32) -> TestRunner {
    let config = Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, b"bounds of unlogged sessions 2026");
    TestRunner::new_with_rng(config, rng)
}

/// What was logged on a day, and how much more an unlogged session may have been, in half-AU.
type Day = (i64, i64);

fn load(half_au: i64) -> Load {
    Load::from_half_au(half_au).unwrap()
}

fn total((logged, open): Day) -> DayTotal {
    let sessions = u32::from(logged > 0);
    let unlogged = u32::from(open > 0);
    let facts = DayFacts {
        sessions,
        expected: sessions + unlogged,
        unlogged,
        rest_declared: sessions + unlogged == 0,
        ..DayFacts::default()
    };
    let bounds = Bounds {
        low: load(logged),
        point: load(logged),
        high: load(logged + open),
    };
    DayTotal::new(facts, bounds, 0).unwrap()
}

fn series(days: &[Day]) -> DailySeries {
    member(FIRST, days.iter().copied().map(total).collect())
}

fn last_day(series: &DailySeries) -> DayFigures {
    let settings = FigureSettings {
        chronic_floor: Load::ZERO,
        ..FigureSettings::default()
    };
    day_figures(series, &settings, series.last(), series.last())[0]
}

/// Four weeks of small loads, the first day's positive, with one open session in each of the two
/// earlier parts of the window and up to three in the last week.
fn small_case() -> impl Strategy<Value = Vec<Day>> {
    let known = prop::collection::vec(prop_oneof![Just(0), 0..=12_i64], 28);
    let open = prop::collection::vec((21..28_usize, 1..=4_i64), 0..=3);
    let earlier = (1..14_usize, 0..=3_i64, 14..21_usize, 0..=3_i64);
    (known, open, earlier).prop_map(|(known, open, (a, wide_a, b, wide_b))| {
        let mut days: Vec<Day> = known.into_iter().map(|logged| (logged, 0)).collect();
        days[0].0 += 1;
        days[a].1 = wide_a;
        days[b].1 = wide_b;
        for (at, wide) in open {
            days[at].1 = wide;
        }
        days
    })
}

/// Every completion in steps of half an AU.
fn completions(days: &[Day]) -> Vec<Vec<i64>> {
    let mut all = vec![Vec::new()];
    for (logged, open) in days {
        let longer = |begun: &Vec<i64>, load| begun.iter().copied().chain([load]).collect();
        all = all
            .iter()
            .flat_map(|begun| (*logged..=logged + open).map(move |load| longer(begun, load)))
            .collect();
    }
    all
}

fn sum(loads: &[i64]) -> i64 {
    loads.iter().sum()
}

/// `S^2 / (7Q - S^2)`, the square of the population monotony; `None` where it does not exist.
fn monotony_squared(week: &[i64]) -> Option<Fraction> {
    let (sum, squares) = (sum(week), week.iter().map(|load| load * load).sum::<i64>());
    Fraction::new(sum * sum, 7 * squares - sum * sum)
}

fn range<T: Ord + Copy>(values: impl Iterator<Item = T> + Clone) -> (Option<T>, Option<T>) {
    (values.clone().min(), values.max())
}

fn ends<T: Copy>(figure: Figure<T>) -> (Option<T>, Option<T>) {
    (figure.low, figure.high)
}

#[test]
fn sums_ratios_and_change_are_what_brute_force_gives() {
    let checked = runner(SMALL_CASES).run(&small_case(), |days| {
        let day = last_day(&series(&days));
        let all = completions(&days);
        let week = |loads: &Vec<i64>| sum(&loads[21..]);
        let prior = |loads: &Vec<i64>| sum(&loads[..21]);
        let before = |loads: &Vec<i64>| sum(&loads[14..21]);

        let brute = range(all.iter().map(|loads| load(week(loads))));
        prop_assert_eq!(ends(day.acute_7d), brute);
        let brute = range(all.iter().map(|loads| load(prior(loads))));
        prop_assert_eq!(ends(day.prior_21d), brute);
        let coupled = |loads| Fraction::new(4 * week(loads), week(loads) + prior(loads)).unwrap();
        prop_assert_eq!(ends(day.ratio_coupled), range(all.iter().map(coupled)));
        let uncoupled = |loads| Fraction::new(3 * week(loads), prior(loads)).unwrap();
        prop_assert_eq!(ends(day.ratio_uncoupled), range(all.iter().map(uncoupled)));

        let change = day.change_from_previous_7d;
        let au = change.au.map(|change| change.half_au());
        let brute = range(all.iter().map(|loads| week(loads) - before(loads)));
        prop_assert_eq!(ends(au), brute);
        let pct =
            |loads: &Vec<i64>| Fraction::new(100 * (week(loads) - before(loads)), before(loads));
        let (low, high) = range(all.iter().filter_map(pct));
        prop_assert_eq!(change.pct.low, low);
        // Of a week that may have been empty no percentage is the highest.
        let may_be_empty = all.iter().any(|loads| before(loads) == 0);
        prop_assert_eq!(change.pct.high, high.filter(|_| !may_be_empty));
        Ok(())
    });
    checked.unwrap();
}

/// Candidates for the most monotonous completion: every way to put each open day at its low end, its
/// high end, or at the load `t = Q / S` of the others, which all free days share at a maximum. Each
/// is scaled by S, so that its loads are whole; that leaves monotony as it is.
fn candidates(week: &[Day]) -> Vec<Vec<i64>> {
    let choices = week
        .iter()
        .map(|(_, open)| if *open > 0 { 0..3 } else { 0..1 });
    let mut ways = vec![Vec::new()];
    for choices in choices {
        let longer = |begun: &Vec<i64>, choice| begun.iter().copied().chain([choice]).collect();
        ways = ways
            .iter()
            .flat_map(|begun| choices.clone().map(move |choice| longer(begun, choice)))
            .collect();
    }
    ways.iter().filter_map(|way| candidate(week, way)).collect()
}

fn candidate(week: &[Day], way: &[i64]) -> Option<Vec<i64>> {
    let chosen = || week.iter().zip(way);
    let still: Vec<i64> = chosen()
        .filter(|(_, choice)| **choice < 2)
        .map(|((logged, open), choice)| logged + open * choice)
        .collect();
    let (s, q) = (
        sum(&still),
        still.iter().map(|load| load * load).sum::<i64>(),
    );
    let (scale, shared) = if s == 0 { (1, 1) } else { (s, q) };
    let free = chosen().filter(|(_, choice)| **choice == 2);
    let reached = free
        .clone()
        .all(|((logged, open), _)| scale * logged <= shared && shared <= scale * (logged + open));
    let load = |((logged, open), choice): (&Day, &i64)| match choice {
        2 => shared,
        end => scale * (logged + open * end),
    };
    reached.then(|| chosen().map(load).collect())
}

#[test]
fn monotony_is_what_brute_force_gives() {
    let checked = runner(SMALL_CASES).run(&small_case(), |days| {
        let bounds = last_day(&series(&days)).monotony;
        let exactly = |loads: &Vec<i64>| {
            let week: Vec<DayTotal> = loads.iter().map(|load| total((*load, 0))).collect();
            monotony(&week)
        };
        let key = |loads: &&Vec<i64>| monotony_squared(loads);
        let all = completions(&days[21..]);
        let least = all
            .iter()
            .filter(|loads| key(loads).is_some())
            .min_by_key(key)
            .map(exactly);
        prop_assert_eq!(
            bounds.population.low,
            least.and_then(|least| least.population.point)
        );
        prop_assert_eq!(
            bounds.sample.low,
            least.and_then(|least| least.sample.point)
        );

        if all
            .iter()
            .any(|loads| loads[0] > 0 && loads.iter().all(|load| *load == loads[0]))
        {
            prop_assert_eq!(bounds.population.high, None);
            return Ok(());
        }
        let candidates = candidates(&days[21..]);
        let most = candidates.iter().max_by_key(key).map(exactly);
        prop_assert_eq!(
            bounds.population.high,
            most.and_then(|most| most.population.point)
        );
        prop_assert_eq!(bounds.sample.high, most.and_then(|most| most.sample.point));
        let of_grid = all
            .iter()
            .filter_map(|loads| exactly(loads).population.point)
            .max();
        prop_assert!(
            of_grid <= bounds.population.high,
            "a completion above the highest"
        );
        Ok(())
    });
    checked.unwrap();
}

/// Six weeks that end on a Sunday, with sessions of whole minutes left open, and one completion.
fn completed_case() -> impl Strategy<Value = (Vec<Day>, Vec<i64>)> {
    let day = prop_oneof![
        3 => (0..3_000_i64).prop_map(|logged| (logged, 0)),
        2 => Just((0, 0)),
        2 => (prop_oneof![Just(0), 0..2_000_i64], 1..=120_i64)
            .prop_map(|(logged, minutes)| (logged, 20 * minutes)),
    ];
    prop::collection::vec((day, 0..=40_i64), 42).prop_map(|days| {
        let completed = days
            .iter()
            .map(|((logged, open), part)| logged + open * part / 40);
        (
            days.iter().map(|(day, _)| *day).collect(),
            completed.collect(),
        )
    })
}

fn holds<T: PartialOrd>(bounds: Figure<T>, truth: Figure<T>) -> bool {
    truth.point.is_none_or(|truth| {
        bounds.low.is_none_or(|low| low <= truth) && bounds.high.is_none_or(|high| truth <= high)
    })
}

#[test]
fn no_completion_lies_outside_the_bounds() {
    let checked = runner(COMPLETIONS).run(&completed_case(), |(days, loads)| {
        let known: Vec<Day> = loads.iter().map(|load| (*load, 0)).collect();
        let (open, truth) = (last_day(&series(&days)), last_day(&series(&known)));
        prop_assert!(holds(open.acute_7d, truth.acute_7d));
        prop_assert!(holds(open.prior_21d, truth.prior_21d));
        prop_assert!(holds(open.ratio_coupled, truth.ratio_coupled));
        prop_assert!(holds(open.ratio_uncoupled, truth.ratio_uncoupled));
        prop_assert!(holds(open.monotony.sample, truth.monotony.sample));
        prop_assert!(holds(open.monotony.population, truth.monotony.population));
        prop_assert!(holds(open.strain.sample, truth.strain.sample));
        prop_assert!(holds(open.strain.population, truth.strain.population));
        let (bounds, change) = (open.change_from_previous_7d, truth.change_from_previous_7d);
        prop_assert!(holds(bounds.au, change.au));
        prop_assert!(holds(bounds.pct, change.pct));
        Ok(())
    });
    checked.unwrap();
}

fn without_floor() -> Policy {
    let mut draft = example_policy().into_draft();
    draft.chronic_floor = Load::ZERO;
    draft.check().unwrap()
}

/// A judgement under doubt against the same one with everything known.
fn agrees(doubtful: &Judgement, truth: &Judgement) -> bool {
    match (doubtful.outcome, truth.outcome) {
        (Outcome::Raised(Certainty::Certain), Outcome::Raised(_))
        | (Outcome::Raised(Certainty::Possible), _)
        | (Outcome::NotRaised, Outcome::NotRaised)
        | (Outcome::NotComputable(_), _)
        | (_, Outcome::NotComputable(_)) => true,
        (Outcome::Raised(Certainty::Certain) | Outcome::NotRaised, _) => false,
    }
}

#[test]
fn certainty_and_break_even_hold_in_every_completion() {
    let policy = without_floor();
    let settled = Cell::new(0);
    let checked = runner(COMPLETIONS).run(&completed_case(), |(days, loads)| {
        let known: Vec<Day> = loads.iter().map(|load| (*load, 0)).collect();
        // Earlier weeks count for the own highest with their upper bound: by definition, not in doubt.
        let earlier_full = days[..35].iter().map(|(logged, open)| (logged + open, 0));
        let earlier_full: Vec<Day> = earlier_full.chain(known[35..].iter().copied()).collect();
        let of = |days: &[Day]| athlete_week(&policy, (), "A", &series(days));
        let (doubtful, doubtful_week) = (series(&days), of(&days));
        let (truth, truth_own) = (of(&known).judgements, of(&earlier_full).judgements);
        for (at, judged) in doubtful_week.judgements.iter().enumerate() {
            let truth = match judged.rule {
                RuleCode::OwnHighestWeek => &truth_own[at],
                _ => &truth[at],
            };
            prop_assert!(agrees(judged, truth), "{:?} but {:?}", judged, truth);
            let open = open_sessions(&doubtful);
            let Some(settles) = break_even(judged, &doubtful_week.figures, &open) else {
                continue;
            };
            settled.set(settled.get() + 1);
            let missing = sum(&loads[35..]) - days[35..].iter().map(|day| day.0).sum::<i64>();
            let missing = Fraction::new(missing, 2).unwrap();
            if settles.certain_above.is_some_and(|above| missing > above) {
                prop_assert!(matches!(truth.outcome, Outcome::Raised(_)));
            }
            if settles
                .ruled_out_up_to
                .is_some_and(|up_to| missing <= up_to)
            {
                prop_assert_eq!(truth.outcome, Outcome::NotRaised);
            }
        }
        Ok(())
    });
    checked.unwrap();
    assert!(
        settled.get() > 1_000,
        "{settled:?} findings that missing entries would settle"
    );
}

#[test]
fn ceilings_after_an_absence_hold_in_every_completion() {
    let policy = without_floor();
    let checked = runner(SMALL_CASES).run(&completed_case(), |(days, loads)| {
        // Four known weeks, two away, then three of the six weeks drawn.
        let with = |days: &[Day]| {
            let away = DayFacts {
                absence: Absence::Long,
                ..DayFacts::default()
            };
            let away = DayTotal::new(away, Bounds::default(), 0).unwrap();
            let before = (0..28).map(|at| total((900 + at, 0)));
            let after = days[..21].iter().copied().map(total);
            let days = before.chain([away; 14]).chain(after).collect();
            member(FIRST, days)
        };
        let known: Vec<Day> = loads.iter().map(|load| (*load, 0)).collect();
        let ceiling = |series: &DailySeries| {
            let week = athlete_week(&policy, (), "A", series);
            let mut judged = week.judgements.into_iter();
            judged
                .find(|judged| judged.rule == RuleCode::ReturnCeiling)
                .unwrap()
        };
        let (doubtful, truth) = (ceiling(&with(&days)), ceiling(&with(&known)));
        prop_assert!(agrees(&doubtful, &truth));
        let (bounds, limit) = (doubtful.limit_au.unwrap(), truth.limit_au.unwrap().point);
        prop_assert!(bounds.low <= limit && limit <= bounds.high);
        Ok(())
    });
    checked.unwrap();
}
