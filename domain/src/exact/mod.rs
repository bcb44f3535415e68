//! Exact numbers: fractions, roots of fractions, and the decimals they are rounded to.
//!
//! A figure stays exact until its last rounding, so that a limit is compared with no
//! floating-point error and a tie rounds the same way everywhere. Numerators and denominators are
//! 64 bits wide and products are formed in 128, so comparing two fractions cannot overflow. Where
//! each limit depends on the one before, as in a plan that is cut week after week, the parts grow
//! without end and are kept as numbers of any length.

mod decimal;
mod fraction;
mod natural;
mod root;
mod wide;

pub use decimal::{Decimal, DecimalError};
pub use fraction::Fraction;
pub(crate) use natural::Natural;
pub use root::Root;
pub use wide::WideFraction;

/// Decimal places of a printed figure: two for percentages and training strain, four for the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Places {
    /// Whole numbers, for sentences.
    Whole,
    /// Hundredths.
    Two,
    /// Ten-thousandths.
    Four,
}

impl Places {
    const fn scale(self) -> i64 {
        match self {
            Places::Whole => 1,
            Places::Two => 100,
            Places::Four => 10_000,
        }
    }

    /// Rounds a figure that exists only as a float (the exponential means), ties to even.
    #[must_use]
    pub fn round_float(self, value: f64) -> f64 {
        let scale = self.scale() as f64;
        (value * scale).round_ties_even() / scale
    }
}
