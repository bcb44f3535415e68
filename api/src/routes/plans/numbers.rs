//! Exact AU as they are sent, four decimals.

use plimsoll_domain::{Fraction, Places, WideFraction};

/// An exact fraction.
pub fn four(exact: Fraction) -> f64 {
    exact.round(Places::Four).to_f64()
}

/// One of any length.
pub fn wide(exact: &WideFraction) -> f64 {
    exact.round(Places::Four).to_f64()
}
