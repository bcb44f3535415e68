//! How the things we store are written on each database.
//!
//! | SQL type   | PostgreSQL    | SQLite                | Rust                    |
//! |------------|---------------|-----------------------|-------------------------|
//! | `Id`       | `uuid`        | 16-byte blob          | the types of `crate::ids` |
//! | `Instant`  | `timestamptz` | integer microseconds  | `jiff::Timestamp`       |
//! | `Day`      | `date`        | text `YYYY-MM-DD`     | `jiff::civil::Date`     |
//! | `Document` | `jsonb`       | text                  | `serde_json::Value`     |
//! | `Code`     | `text`        | text                  | enums with `code()`     |
//! | `Seal`     | `bytea`       | blob                  | `Sealed`, of `store::seal` |
//!
//! Types of other crates go through the wrapper [`Sql`], which stays inside the store.

mod bind;
mod code;
mod data_classes;
mod day;
mod document;
mod id;
mod id_list;
mod instant;
mod record_classes;
mod sealed;
mod trials;

pub use bind::Sql;
pub use code::Code;
pub use day::Day;
pub use document::Document;
pub use id::Id;
pub use instant::{Instant, whole_microsecond};
pub use sealed::{Seal, Sealed};
