//! Tokens and key sets from outside: a test issuer with real keys, served over HTTP on loopback.

#![allow(
    clippy::unwrap_used,
    reason = "a test that cannot set up its issuer has failed"
)]

mod attacks;
mod issuer;
mod key_sets;
mod tokens;
mod vectors;
