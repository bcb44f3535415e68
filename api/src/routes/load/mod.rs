//! An athlete's load, day by day.

mod read;

pub use read::*;
