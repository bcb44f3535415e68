//! How long figures take: the columns kernel, the exact figures of a year, and a week judged.
//!
//! Loads are invented: up to three sessions a day, 0.9 on average.

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use jiff::civil::date;
use plimsoll_domain::columns::{ColumnSettings, Columns};
use plimsoll_domain::{
    Bounds, DailySeries, DayFacts, DayTotal, Decimal, FigureSettings, IsoWeek, Load, PolicyDraft,
    day_figures_iter, judge,
};

const DAYS: usize = 365;

/// A small generator of repeatable numbers (the multiplier is Knuth's for 64 bits).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 33) % bound
    }

    fn load(&mut self) -> Load {
        let sessions = match self.below(20) {
            0..8 => 0,
            8..15 => 1,
            15..19 => 2,
            _ => 3,
        };
        let au = (0..sessions)
            .map(|_| (2 + self.below(8)) * (15 + self.below(106)))
            .sum::<u64>();
        Load::from_au(u16::try_from(au).unwrap_or(0))
    }
}

fn loads(athletes: usize) -> Vec<Load> {
    let mut numbers = Numbers(1);
    (0..athletes * DAYS).map(|_| numbers.load()).collect()
}

fn series(unlogged_in_20: u64) -> Option<DailySeries> {
    let mut numbers = Numbers(2);
    let day = |load: Load, open: bool| {
        let facts = DayFacts {
            sessions: 1,
            expected: 1 + u32::from(open),
            unlogged: u32::from(open),
            ..DayFacts::default()
        };
        let high = if open {
            load + Load::from_au(900)
        } else {
            load
        };
        DayTotal::new(
            facts,
            Bounds {
                low: load,
                point: load,
                high,
            },
            60,
        )
    };
    let days = loads(1)
        .into_iter()
        .map(|load| day(load, numbers.below(20) < unlogged_in_20));
    let days = days.collect::<Result<Vec<DayTotal>, _>>().ok()?;
    DailySeries::new(date(2026, 1, 5), date(2026, 1, 5), days).ok()
}

fn columns(criterion: &mut Criterion) {
    let settings = ColumnSettings {
        chronic_floor: Load::from_au(250),
        ratio_limit: Decimal::hundredths(150),
    };
    let mut group = criterion.benchmark_group("columns");
    for athletes in [1_000, 10_000] {
        let loads = loads(athletes);
        let athletes: Vec<&[Load]> = loads.chunks(DAYS).collect();
        let mut columns = Columns::new();
        group.throughput(Throughput::Elements(loads.len() as u64));
        group.bench_function(
            format!("{} athletes x {DAYS} days", athletes.len()),
            |bencher| {
                bencher.iter(|| columns.compute(black_box(&athletes), &settings));
            },
        );
    }
    group.finish();
}

fn exact(criterion: &mut Criterion) {
    let settings = FigureSettings::default();
    let mut group = criterion.benchmark_group("exact figures of a year");
    group.throughput(Throughput::Elements(DAYS as u64));
    for (name, unlogged_in_20) in [
        ("all known", 0),
        ("5 % of days open", 1),
        ("25 % of days open", 5),
    ] {
        let Some(series) = series(unlogged_in_20) else {
            continue;
        };
        group.bench_function(name, |bencher| {
            bencher.iter(|| {
                let all = day_figures_iter(&series, &settings, series.first(), series.last());
                all.for_each(|day| {
                    black_box(day);
                });
            });
        });
    }
    group.finish();
}

fn week(criterion: &mut Criterion) {
    let draft = PolicyDraft::example(date(2026, 1, 1), "Policy owner");
    let (Ok(policy), Some(series), Ok(week)) = (draft.check(), series(1), IsoWeek::new(2026, 45))
    else {
        return;
    };
    criterion.bench_function("judge a week", |bencher| {
        bencher.iter(|| judge(&policy, black_box(&series), week));
    });
}

criterion_group!(benches, columns, exact, week);
criterion_main!(benches);
