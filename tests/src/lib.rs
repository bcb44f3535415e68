//! End-to-end test support.
