//! The Plimsoll service.

pub mod auth;
