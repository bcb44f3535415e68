//! Support for the tests of this crate and of the end-to-end package (feature `testing`).

pub use crate::store::testing::TestDatabase;
