//! How long a club keeps what of athletes who have left: terms and holds, what is due, and the night's run that erases it.
//!
//! The rules are in the domain (`retention.rs`). Local law decides how long something may or must be kept; a club that has said nothing
//! keeps everything.

pub mod due;
pub mod holds;
pub mod next_run;
pub mod run;
pub mod settings;
pub mod words;
