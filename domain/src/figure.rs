//! A figure with its bounds, or the reason it does not exist.

use std::ops::Add;

use crate::load::Load;
use crate::reason::Reason;

/// A value as logged, between the least and the most it can be while sessions are unlogged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Bounds<T> {
    /// The least it can be.
    pub low: T,
    /// As logged.
    pub point: T,
    /// The most it can be.
    pub high: T,
}

impl<T> Bounds<T> {
    /// The same value for all three: nothing is unknown.
    pub fn exact(value: T) -> Bounds<T>
    where
        T: Copy,
    {
        Bounds {
            low: value,
            point: value,
            high: value,
        }
    }

    /// Applies an increasing function to all three.
    pub fn map<U>(self, mut f: impl FnMut(T) -> U) -> Bounds<U> {
        Bounds {
            low: f(self.low),
            point: f(self.point),
            high: f(self.high),
        }
    }
}

impl Bounds<Load> {
    /// End by end, for a part that was added before and leaves a sliding sum.
    pub(crate) const fn less(self, part: Bounds<Load>) -> Bounds<Load> {
        Bounds {
            low: self.low.less(part.low),
            point: self.point.less(part.point),
            high: self.high.less(part.high),
        }
    }
}

impl<T: Add<Output = T>> Add for Bounds<T> {
    type Output = Bounds<T>;

    fn add(self, other: Bounds<T>) -> Bounds<T> {
        Bounds {
            low: self.low + other.low,
            point: self.point + other.point,
            high: self.high + other.high,
        }
    }
}

/// A figure that may not exist. `reason` says why the point is missing or, when only a bound is
/// missing, why that is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figure<T> {
    /// The least it can be.
    pub low: Option<T>,
    /// As logged.
    pub point: Option<T>,
    /// The most it can be.
    pub high: Option<T>,
    /// Why something above is missing.
    pub reason: Option<Reason>,
}

impl<T> Figure<T> {
    /// A figure with nothing unknown about it.
    pub fn exact(value: T) -> Figure<T>
    where
        T: Copy,
    {
        Figure::bounded(Bounds::exact(value))
    }

    /// A figure that exists, with its bounds.
    pub fn bounded(bounds: Bounds<T>) -> Figure<T> {
        Figure {
            low: Some(bounds.low),
            point: Some(bounds.point),
            high: Some(bounds.high),
            reason: None,
        }
    }

    /// A figure that does not exist.
    pub const fn none(reason: Reason) -> Figure<T> {
        Figure {
            low: None,
            point: None,
            high: None,
            reason: Some(reason),
        }
    }

    /// The figure of a computation that either has its bounds or a reason.
    pub fn from_result(result: Result<Bounds<T>, Reason>) -> Figure<T> {
        result.map_or_else(Figure::none, Figure::bounded)
    }

    /// Applies an increasing function to what exists.
    pub fn map<U>(self, mut f: impl FnMut(T) -> U) -> Figure<U> {
        Figure {
            low: self.low.map(&mut f),
            point: self.point.map(&mut f),
            high: self.high.map(&mut f),
            reason: self.reason,
        }
    }
}
