//! An athlete's history as a page and as a file.

pub mod csv;
pub mod page;
mod plots;
mod tables;
