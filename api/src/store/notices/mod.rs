//! Notices: where they go, what they are, and how far each has got.
//!
//! The outbox works without row locks: whoever sends a delivery takes a lease, written in columns, with the
//! condition repeated in the `UPDATE`. Of two takers one gets the row, on both databases.

pub mod deliveries;
pub mod endpoints;
pub mod letters;
pub mod outbox;
