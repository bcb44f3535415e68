//! A squad's day.

pub mod csv;
pub mod page;
