//! What all routes share at the HTTP edge: reading bodies, writes, lists, and the answers.

pub mod accept;
pub mod body;
pub mod cookie;
pub mod fallback;
#[cfg(feature = "testing")]
pub mod fault;
pub mod figures;
pub mod finding;
pub mod json;
pub mod object;
pub mod page;
pub mod page_problem;
pub mod panics;
pub mod params;
pub mod query;
pub mod range;
pub mod rate_limit;
pub mod refusals;
pub mod refused;
pub mod reply;
pub mod representation;
pub mod request_line;
pub mod sandbox;
pub mod scim;
pub mod write;
pub mod write_json;
