//! One suite for both databases: every case runs on SQLite and on PostgreSQL.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code"
)]

mod athletes;
mod support;
