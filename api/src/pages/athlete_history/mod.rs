//! An athlete's history as a page, as a file and as a sheet to print.

pub mod csv;
pub mod page;
mod plots;
pub mod sheet;
mod tables;
mod words;
