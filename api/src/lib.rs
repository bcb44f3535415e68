//! The Plimsoll service: training-load monitoring over HTTP.
//!
//! A request goes through three files: its route ([`routes`]), a service where more than one store
//! call or a computation is needed ([`services`]), and the store ([`store`]). The figures themselves
//! are computed by `plimsoll_domain`, which knows none of this.

pub mod app;
pub mod auth;
pub mod calendar;
pub mod cli;
pub mod clock;
pub mod clock_watch;
pub mod config;
pub mod delivery;
pub mod demo;
pub mod error;
pub mod ids;
pub mod jobs;
pub mod openapi;
mod pages;
mod problem_codes;
pub mod routes;
pub mod scim;
pub mod server;
pub mod services;
pub mod store;
pub mod telemetry;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
pub mod web;
