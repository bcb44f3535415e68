//! Support for the tests of this crate and of the end-to-end package (feature `testing`).
#![allow(
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot be set up must stop"
)]

mod database;

pub use database::TestDatabase;
