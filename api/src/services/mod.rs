//! What happens between a route and the store, where that is more than one call.

pub mod audit;
pub mod local_time;
pub mod write;
