//! What tests need to know of a database beside the store's own functions.
#![allow(
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot be set up must stop"
)]

mod catalogue;
mod database;
pub mod gate;
mod raw;

pub use catalogue::{ColumnOf, Key, columns, keys, schema};
pub use database::TestDatabase;
pub use raw::{execute, execute_elsewhere, number, number_elsewhere};
