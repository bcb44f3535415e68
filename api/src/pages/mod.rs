//! What people read: the same answers as pages and as files, made from the answer that is sent as JSON.
//!
//! Nothing is computed or rounded here. A figure is written with the digits it has in the JSON.

pub mod athlete_copy;
pub mod athlete_history;
pub mod cell;
pub mod flag_rate;
pub mod html;
pub mod letter;
pub mod paper;
#[cfg(feature = "pdf")]
pub mod pdf;
pub mod plan_check;
mod qr;
pub mod refusal;
pub mod rows;
pub mod sheet;
pub mod table;
pub mod today;
pub mod told;
pub mod week_sheet;
pub mod weekly_list;
