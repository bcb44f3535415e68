//! What the service does of its own accord.

pub mod deliver;
