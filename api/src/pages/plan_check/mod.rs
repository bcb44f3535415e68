//! The check of a plan as a page: the weeks that break a rule first, in words, then one row a week.

mod page;
mod plot;
mod sheet;
mod table;
mod words;

pub use page::write;
pub use sheet::sheet;
