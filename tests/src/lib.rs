//! End-to-end test support: starts the built program against a fresh database and talks to it over HTTP.
//!
//! ```no_run
//! use e2e::{Database, on_both_databases};
//!
//! on_both_databases! {
//!     async fn a_logged_session_counts(database: Database) {
//!         let server = e2e::Server::start(database).await;
//!         let club = server.club("Havneby Handball").await;
//!         let squad = club.squad("U16").await;
//!         let athlete = squad.athlete("P-07").await;
//!         athlete.session("2026-09-07T17:30:00+02:00", 90, 6.0).with("setting", "club").await;
//!
//!         let load = club.as_role("coach").get(format!("athletes/{}/load", athlete.id()))
//!             .query("from", "2026-09-07").query("to", "2026-09-07")
//!             .await.expect(200);
//!         assert_eq!(load["days"][0]["load_au"], 540.0);
//!     }
//! }
//! ```
//!
//! The program is the one that `cargo build --workspace` left beside these tests; `tests/run` builds it and starts PostgreSQL.
//! When a test fails, what the program wrote to its log is printed below the failure.

mod answer;
mod authority;
mod club;
mod connection;
mod contract;
mod database;
mod demo;
pub mod directory;
mod document;
mod draft;
mod ending;
mod figures;
mod held;
mod held_close;
mod identity;
mod inner_addresses;
mod left_out;
mod loads;
mod long;
mod mailbox;
mod name_server;
mod opened;
mod plan;
mod plot;
mod postgres;
mod program;
mod reading;
mod receiver;
mod request;
mod rows;
mod running;
mod same_list;
mod server;
mod small_disk;
mod template;
mod until;
mod writes;

pub use answer::Answer;
pub use authority::Authority;
pub use club::{Athlete, Club, Squad, example_rules};
pub use connection::Connection;
pub use database::Database;

pub use demo::Demo;
pub use document::{Document, Operation};
pub use draft::Draft;
pub use ending::assert_ends;
pub use figures::{assert_exact, assert_no_monotony, assert_none, assert_printed};
pub use held::Held;
pub use held_close::HeldClose;
pub use identity::Identity;
pub use inner_addresses::inner_addresses;
pub use left_out::left_out;
pub use long::many;
pub use mailbox::{Mail, Mailbox};
pub use name_server::{NameServer, Names, Record};
pub use opened::Page;
pub use plot::assert_plots;
pub use postgres::Postgres;
pub use receiver::{Answering, Message, Receiver};
pub use request::{Client, Request};
pub use reqwest::Method;
pub use same_list::{assert_on_page, assert_same_day, assert_same_history, assert_same_list};
pub use server::{Server, Setup};
pub use small_disk::SmallDisk;
pub use until::until;
pub use writes::{FREE_ID, Writes};

/// Makes two tests of each case, `<case>::sqlite` and `<case>::postgres`.
///
/// Attributes (`#[ignore = "…"]`, comments) go to both.
#[macro_export]
macro_rules! on_both_databases {
    ($($(#[$attribute:meta])* async fn $case:ident($database:ident: Database) $body:block)+) => {$(
        mod $case {
            #[allow(unused_imports)]
            use super::*;

            async fn case($database: $crate::Database) $body

            $(#[$attribute])*
            #[tokio::test]
            async fn sqlite() {
                case($crate::Database::Sqlite).await;
            }

            $(#[$attribute])*
            #[tokio::test]
            async fn postgres() {
                case($crate::Database::Postgres).await;
            }
        }
    )+};
}
