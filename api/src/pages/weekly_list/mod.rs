//! The weekly list of a squad.

pub mod csv;
pub mod done;
pub mod figures;
pub mod page;
pub mod plot;
pub mod sheet;
pub mod words;
