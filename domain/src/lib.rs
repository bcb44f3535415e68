//! Training-load figures of young athletes: pure computation, exact to the last rounding.
//!
//! This crate knows no HTTP, no database, no clock, no time zone and no JSON. It takes day totals
//! by local date and gives figures, each with the bounds that unlogged sessions leave open, or the
//! reason why it does not exist.
//!
//! The figures describe the load that was logged. They predict no injury, they do not show that
//! anyone is safe, and they clear nobody to train or play.

pub mod change;
pub mod day;
pub mod day_figures;
pub mod ewma;
pub mod exact;
pub mod figure;
pub mod moments;
pub mod monotony;
pub mod overlap;
pub mod ratio;
pub mod reason;
pub mod series;
pub mod session;
pub mod strain;
pub mod units;
pub mod week;
pub mod window;

pub use change::Change;
pub use day::{
    Absence, DayFacts, DayState, DayTotal, DayTotalError, NothingSaid, StateCounts, state_of,
};
pub use day_figures::{DayFigures, FigureSettings, day_figures, day_figures_iter};
pub use ewma::{Ewma, Seed};
pub use exact::{Decimal, DecimalError, Fraction, Places, Root};
pub use figure::{Bounds, Figure};
pub use moments::{Divisor, Moments};
pub use monotony::ByDivisor;
pub use overlap::{Interval, Overlap, overlaps};
pub use ratio::RatioKind;
pub use reason::Reason;
pub use series::{DailySeries, SeriesError};
pub use session::{Basis, GivenBy, Kind, SessionWarning, Setting, split_at_midnight, warnings};
pub use units::{Load, LoadChange, Minutes, MinutesError, Rpe, RpeError};
pub use week::{IsoWeek, WeekError};
pub use window::ChronicWeek;
