//! What is kept of an athlete as a whole: her copy, and its erasure.
//!
//! Both are made from one [catalogue] of tables and columns, so that neither leaves out what the other knows of.

pub mod catalogue;
mod copy;
mod erase;
mod kept;
mod sql;
mod withhold;

pub use copy::{Records, read};
pub use erase::{Counts, erase, staying, touched};
pub use kept::{class_of, kept, standing};
