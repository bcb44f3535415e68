//! The loops behind the columns: one athlete at a time, each loop over all of the athlete's days.

use super::{ColumnSettings, LOAD_COLUMNS, MEAN_COLUMNS, SPREAD_COLUMNS, flag};
use crate::ewma::ExponentialMean;
use crate::load::Load;
use crate::window::{ACUTE_DAYS, CHRONIC_DAYS};

/// Whole-number sums of one athlete's days, in half-AU, each after a lead of zeros so that the
/// first windows are full too.
#[derive(Clone, Debug, Default)]
pub(super) struct Sums {
    days: Vec<f64>,
    weeks: Vec<f64>,
    squares: Vec<f64>,
}

/// Zeros before the first daily load.
const DAYS_LEAD: usize = ACUTE_DAYS - 1;
/// Zeros before the first sum of seven days.
const WEEKS_LEAD: usize = CHRONIC_DAYS - ACUTE_DAYS;

/// Multiplying is several times faster than dividing, and as good to 1e-15.
const THIRD: f64 = 1.0 / 3.0;
const FOURTEENTH: f64 = 1.0 / 14.0;

impl Sums {
    /// Takes the sums of an athlete's loads, in the place of those of the athlete before.
    pub(super) fn of(&mut self, loads: &[Load]) {
        let rows = loads.len();
        self.days.resize(DAYS_LEAD + rows, 0.0);
        self.weeks.resize(WEEKS_LEAD + rows, 0.0);
        self.squares.resize(rows, 0.0);
        for (day, load) in self.days[DAYS_LEAD..].iter_mut().zip(loads) {
            *day = load.half_au() as f64;
        }
        let windows = self.days.array_windows::<ACUTE_DAYS>();
        let sums = self.weeks[WEEKS_LEAD..].iter_mut().zip(&mut self.squares);
        for ((sum, squares), week) in sums.zip(windows) {
            *sum = week.iter().sum();
            *squares = week.iter().map(|day| day * day).sum();
        }
    }

    fn rows(&self) -> usize {
        self.squares.len()
    }

    /// Sums of the seven days that end so many weeks before each row.
    fn week(&self, weeks_back: usize) -> &[f64] {
        let start = WEEKS_LEAD - weeks_back * ACUTE_DAYS;
        &self.weeks[start..start + self.rows()]
    }
}

/// With A = P = 0 the coupled quotient is 0 / 0, not a number, as it should be.
pub(super) fn load_columns(sums: &Sums, chronic_floor: Load, columns: [&mut [f64]; LOAD_COLUMNS]) {
    let rows = sums.rows();
    let floor = 3.0 * chronic_floor.to_au();
    let [now, one, two, three] = [0, 1, 2, 3].map(|back| sums.week(back));
    let [
        acute,
        prior,
        chronic_coupled,
        chronic_uncoupled,
        coupled,
        uncoupled,
        change,
    ] = columns.map(|column| &mut column[..rows]);
    for row in 0..rows {
        let a = now[row] / 2.0;
        let p = (one[row] + two[row] + three[row]) / 2.0;
        acute[row] = a;
        prior[row] = p;
        chronic_coupled[row] = (a + p) / 4.0;
        chronic_uncoupled[row] = p * THIRD;
        coupled[row] = if p < floor {
            f64::NAN
        } else {
            4.0 * a / (a + p)
        };
        uncoupled[row] = if p >= floor && p > 0.0 {
            3.0 * a / p
        } else {
            f64::NAN
        };
        let pct = 100.0 * (now[row] - one[row]) / one[row];
        change[row] = if one[row] > 0.0 { pct } else { f64::NAN };
    }
    blank(acute, ACUTE_DAYS);
    blank(change, 2 * ACUTE_DAYS);
    for column in [
        prior,
        chronic_coupled,
        chronic_uncoupled,
        coupled,
        uncoupled,
    ] {
        blank(column, CHRONIC_DAYS);
    }
}

/// Population monotony is `S / sqrt(7Q - S^2)`, the sample deviation `sqrt((7Q - S^2) / 42)`.
pub(super) fn spread_columns(sums: &Sums, columns: [&mut [f64]; SPREAD_COLUMNS]) {
    let rows = sums.rows();
    let to_deviation = 0.5 / 42.0_f64.sqrt();
    let to_sample = (6.0_f64 / 7.0).sqrt();
    let (now, squares) = (sums.week(0), &sums.squares[..rows]);
    let columns = columns.map(|column| &mut column[..rows]);
    let [
        mean,
        deviation,
        monotony_sample,
        monotony_population,
        strain_sample,
        strain_population,
    ] = columns;
    for row in 0..rows {
        let sum = now[row];
        let root = (7.0 * squares[row] - sum * sum).sqrt();
        let monotony = if root > 0.0 { sum / root } else { f64::NAN };
        let strain = monotony * sum / 2.0;
        mean[row] = sum * FOURTEENTH;
        deviation[row] = root * to_deviation;
        monotony_sample[row] = monotony * to_sample;
        monotony_population[row] = monotony;
        strain_sample[row] = strain * to_sample;
        strain_population[row] = strain;
    }
    for column in [
        mean,
        deviation,
        monotony_sample,
        monotony_population,
        strain_sample,
        strain_population,
    ] {
        blank(column, ACUTE_DAYS);
    }
}

/// Exponential means and their ratio; without any load it is 0 / 0, not a number.
pub(super) fn mean_columns(sums: &Sums, [acute, chronic, ratio]: [&mut [f64]; MEAN_COLUMNS]) {
    let days = &sums.days[DAYS_LEAD..];
    let seed = days.first().copied().unwrap_or(0.0) / 2.0;
    let mut short = ExponentialMean::over_days(7, seed);
    let mut long = ExponentialMean::over_days(28, seed);
    let columns = acute
        .iter_mut()
        .zip(chronic.iter_mut())
        .zip(ratio.iter_mut());
    for (((acute, chronic), ratio), day) in columns.zip(days) {
        *acute = short.update(day / 2.0);
        *chronic = long.update(day / 2.0);
        *ratio = *acute / *chronic;
    }
    for column in [acute, chronic, ratio] {
        blank(column, CHRONIC_DAYS);
    }
}

/// Takes away the rows before the `needed`-th day.
fn blank(column: &mut [f64], needed: usize) {
    let rows = column.len().min(needed - 1);
    column[..rows].fill(f64::NAN);
}

/// The flags of each row, decided on whole numbers.
pub(super) fn flag_rows(sums: &Sums, settings: &ColumnSettings, flags: &mut [u8]) {
    let limit = settings.ratio_limit.to_fraction();
    let (num, den) = (limit.numerator() as f64, limit.denominator() as f64);
    let floor = 3.0 * settings.chronic_floor.half_au() as f64;
    let [now, one, two, three] = [0, 1, 2, 3].map(|back| sums.week(back));
    let weeks = now.iter().zip(one).zip(two).zip(three).zip(&sums.squares);
    for (flags, ((((now, one), two), three), squares)) in flags.iter_mut().zip(weeks) {
        let prior = one + two + three;
        let below = prior < floor;
        let set = |condition: bool, bit: u8| if condition { bit } else { 0 };
        *flags = set(*now == 0.0, flag::NO_LOAD)
            | set(*now > 0.0 && 7.0 * squares == now * now, flag::NO_VARIATION)
            | set(*one == 0.0, flag::NO_LOAD_IN_PREVIOUS_WEEK)
            | set(below, flag::BELOW_CHRONIC_FLOOR)
            | set(
                !below && now * (4.0 * den - num) > num * prior,
                flag::OVER_LIMIT,
            );
    }
    history(flags);
}

/// Marks the rows of too short a history and takes back what their windows cannot say.
fn history(flags: &mut [u8]) {
    for (at, flags) in flags.iter_mut().take(CHRONIC_DAYS - 1).enumerate() {
        *flags &= !(flag::BELOW_CHRONIC_FLOOR | flag::OVER_LIMIT);
        *flags |= flag::FEWER_THAN_28_DAYS;
        if at < 2 * ACUTE_DAYS - 1 {
            *flags &= !flag::NO_LOAD_IN_PREVIOUS_WEEK;
            *flags |= flag::FEWER_THAN_14_DAYS;
        }
        if at < ACUTE_DAYS - 1 {
            *flags &= !(flag::NO_LOAD | flag::NO_VARIATION);
            *flags |= flag::FEWER_THAN_7_DAYS;
        }
    }
}
