//! How long a club keeps what of athletes who have left, whom it holds, and what was erased on which night.

pub mod holds;
pub mod runs;
pub mod settings;
