//! The Plimsoll service.

pub mod ids;
pub mod store;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
