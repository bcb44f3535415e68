//! Tokens and key sets from outside: a test issuer with real keys, served over HTTP on loopback.

#![allow(
    clippy::unwrap_used,
    reason = "a test that cannot set up its issuer has failed"
)]

mod claims;
mod envelopes;
mod issuer;
mod key_sets;
mod outages;
mod random;
mod signatures;
mod tokens;
mod vectors;
