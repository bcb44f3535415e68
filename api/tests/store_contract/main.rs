//! One suite for both databases: every case runs on SQLite and on PostgreSQL.
//!
//! The places where the two behave differently, each held to one behaviour by a case:
//!
//! | difference | case |
//! |---|---|
//! | a transaction that reads and then writes fails at once under contention on SQLite | `transactions::eight_writers_lose_nothing` |
//! | how a transaction begins | `transactions` |
//! | foreign keys are off on SQLite unless asked for | `differences::a_row_of_nobody_is_refused` |
//! | SQLite does not name a broken constraint | `differences::a_taken_key_is_a_conflict` |
//! | a failed statement spoils the transaction on PostgreSQL only | `transactions::a_failed_statement_cannot_be_passed_over` |
//! | the same key twice in one upsert | `differences::a_key_twice_in_one_batch` |
//! | how many values a statement may bind | `differences::more_rows_than_a_statement_may_bind` |
//! | what `LIKE` ignores | `differences::a_search_ignores_case_and_takes_wildcards_literally` |
//! | where nulls are sorted | no list is ordered by a column that may be null |
//! | the order of text | `differences::names_are_ordered_by_their_bytes` |
//! | how instants are kept | `differences::instants_keep_their_microseconds` |
//! | a mistyped URL makes a SQLite file | `connection::nothing_is_reached_by_guessing` |
//! | text with a zero byte, which PostgreSQL cannot hold | refused before the store, where input is checked |
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "test code"
)]

mod athletes;
mod audit;
mod clinical;
mod clubs;
mod connection;
mod consents;
mod day_totals;
mod days_off;
mod differences;
mod erasures;
mod flags;
mod idempotency;
mod letters;
mod look_aheads;
mod mail;
mod memberships;
mod migrations;
mod notices;
mod policies;
mod policy_drafts;
mod retention;
mod revocations;
mod schedule;
mod seals;
mod sessions;
mod sharing;
mod squads;
mod subject_records;
mod support;
mod tampers;
mod tenancy;
mod tests_of_athletes;
mod transactions;
mod versions;
mod wall;
mod weeks;
