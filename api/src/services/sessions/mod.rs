//! Session reports: checked, stored as versions, counted into day totals.

pub mod csv_rows;
pub mod draft;
pub mod input;
