//! Point figures of every day of many athletes at once, as columns of floats.
//!
//! For rehearsing a policy over seasons and for exports, where one exact figure at a time is more
//! than is asked. Loads stay whole numbers of half-AU throughout the sums, which a float holds
//! exactly, so nothing drifts or cancels and "no variation" is exactly `7Q = S^2`; every figure is
//! then one division or root, equal to the exact one to 1e-12. Unlogged sessions and absences are
//! not looked at: these are the figures as logged.
//!
//! Speed: each loop does one thing over one athlete's days, so that the compiler can use vector
//! instructions; buffers are reused; and column k is shifted by 3k cache lines, because columns
//! that begin at the same place in a page push each other out of the cache.

mod kernel;

use std::ops::Range;

use crate::coded::coded_enum;
use crate::exact::Decimal;
use crate::load::Load;
use kernel::{Sums, flag_rows, load_columns, mean_columns, spread_columns};

coded_enum! {
    /// A figure of every day. Not a number where it does not exist; [`Columns::flags`] says why.
    Column {
        /// Load of the last 7 days, AU.
        Acute = "acute_7d_au",
        /// Load of the 21 days before those, AU.
        Prior = "prior_21d_au",
        /// (A + P) / 4, AU a week.
        ChronicCoupled = "chronic_coupled_au",
        /// P / 3, AU a week.
        ChronicUncoupled = "chronic_uncoupled_au",
        /// 4A / (A + P).
        RatioCoupled = "ratio_coupled",
        /// 3A / P.
        RatioUncoupled = "ratio_uncoupled",
        /// Per cent above the 7 days before.
        ChangePct = "change_pct",
        /// Mean of the last 7 days, AU.
        Mean = "mean_day_au",
        /// Standard deviation of the last 7 days, n - 1, AU.
        StandardDeviation = "sd_sample_au",
        /// Monotony, n - 1.
        MonotonySample = "monotony_sample",
        /// Monotony, n.
        MonotonyPopulation = "monotony_population",
        /// Training strain, n - 1, AU.
        StrainSample = "strain_sample_au",
        /// Training strain, n, AU.
        StrainPopulation = "strain_population_au",
        /// Exponential mean over 7 days, seeded with the first day, AU a day.
        EwmaAcute = "ewma_acute_au",
        /// Exponential mean over 28 days, seeded with the first day, AU a day.
        EwmaChronic = "ewma_chronic_au",
        /// Their ratio.
        EwmaRatio = "ewma_ratio",
    }
}

/// Bits of [`Columns::flags`].
pub mod flag {
    /// Before the 7th day.
    pub const FEWER_THAN_7_DAYS: u8 = 1;
    /// Before the 14th day.
    pub const FEWER_THAN_14_DAYS: u8 = 2;
    /// Before the 28th day.
    pub const FEWER_THAN_28_DAYS: u8 = 4;
    /// No load in the last 7 days.
    pub const NO_LOAD: u8 = 8;
    /// Seven equal positive days.
    pub const NO_VARIATION: u8 = 16;
    /// No load in the 7 days before the last 7.
    pub const NO_LOAD_IN_PREVIOUS_WEEK: u8 = 32;
    /// The mean of the three weeks before is below the floor.
    pub const BELOW_CHRONIC_FLOOR: u8 = 64;
    /// The coupled ratio exists and is strictly above the limit, tested on whole numbers.
    pub const OVER_LIMIT: u8 = 128;
}

/// What the columns are computed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ColumnSettings {
    /// The mean weekly load of the three prior weeks below which no ratio is given.
    pub chronic_floor: Load,
    /// The limit on the coupled ratio behind [`flag::OVER_LIMIT`].
    pub ratio_limit: Decimal,
}

/// The columns and flags of many athletes' days, in buffers that are kept from one computation to
/// the next.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    cells: usize,
    stride: usize,
    values: Vec<f64>,
    flags: Vec<u8>,
    sums: Sums,
}

/// Columns that follow from sums alone, the first of [`Column`].
const LOAD_COLUMNS: usize = 7;
/// Columns that need the spread of the week, the next.
const SPREAD_COLUMNS: usize = 6;
/// Exponential means, the last.
const MEAN_COLUMNS: usize = 3;
const COLUMNS: usize = LOAD_COLUMNS + SPREAD_COLUMNS + MEAN_COLUMNS;
const _: () = assert!(
    COLUMNS == Column::ALL.len(),
    "every column belongs to one group"
);
/// Floats in three cache lines.
const SHIFT: usize = 3 * 8;
/// Floats in a page.
const PAGE: usize = 512;

impl Columns {
    /// No columns yet.
    #[must_use]
    pub fn new() -> Columns {
        Columns::default()
    }

    /// Computes all columns of some athletes, each a dense series of daily loads from the first
    /// membership date, none above [`Load::DAY_MAX`]. The rows follow the order given.
    ///
    /// ```
    /// use plimsoll_domain::columns::{Column, ColumnSettings, Columns};
    /// use plimsoll_domain::{Decimal, Load};
    /// let athlete = [300, 0, 400, 225, 0, 350, 0].map(Load::from_au);
    /// let settings =
    ///     ColumnSettings { chronic_floor: Load::from_au(250), ratio_limit: Decimal::hundredths(150) };
    /// let mut columns = Columns::new();
    /// columns.compute(&[&athlete, &athlete], &settings);
    /// assert_eq!(columns.column(Column::Acute)[13], 1275.0);
    /// assert!(columns.column(Column::RatioCoupled)[13].is_nan());
    /// ```
    pub fn compute(&mut self, athletes: &[&[Load]], settings: &ColumnSettings) {
        self.resize(athletes.iter().map(|days| days.len()).sum());
        let mut columns = self.values.chunks_exact_mut(self.stride);
        let mut column = |_| columns.next().unwrap_or_default();
        let mut loads: [&mut [f64]; LOAD_COLUMNS] = std::array::from_fn(&mut column);
        let mut spread: [&mut [f64]; SPREAD_COLUMNS] = std::array::from_fn(&mut column);
        let mut means: [&mut [f64]; MEAN_COLUMNS] = std::array::from_fn(&mut column);
        let mut row = 0;
        for days in athletes {
            let rows = row..row + days.len();
            self.sums.of(days);
            load_columns(
                &self.sums,
                settings.chronic_floor,
                rows_of(&mut loads, &rows),
            );
            spread_columns(&self.sums, rows_of(&mut spread, &rows));
            mean_columns(&self.sums, rows_of(&mut means, &rows));
            flag_rows(&self.sums, settings, &mut self.flags[rows]);
            row += days.len();
        }
    }

    /// A column, one value a row.
    #[must_use]
    pub fn column(&self, column: Column) -> &[f64] {
        let start = self.stride * column as usize;
        &self.values[start..start + self.cells]
    }

    /// The flags, one byte a row.
    #[must_use]
    pub fn flags(&self) -> &[u8] {
        &self.flags[..self.cells]
    }

    fn resize(&mut self, cells: usize) {
        self.cells = cells;
        self.stride = cells.next_multiple_of(PAGE) + SHIFT;
        let needed = self.stride * COLUMNS;
        if self.values.len() < needed {
            self.values.resize(needed, f64::NAN);
        }
        if self.flags.len() < cells {
            self.flags.resize(cells, 0);
        }
    }
}

/// The rows of one athlete in each of some columns.
fn rows_of<'a, const N: usize>(
    columns: &'a mut [&mut [f64]; N],
    rows: &Range<usize>,
) -> [&'a mut [f64]; N] {
    columns.each_mut().map(|column| &mut column[rows.clone()])
}
