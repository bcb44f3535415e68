//! What is private is sealed before it is stored: AES-256-GCM (NIST SP 800-38D) under a key of its club.
//!
//! ```text
//! 2 | key number, 4 octets | nonce, 12 | ciphertext | tag, 16      sealed
//! 1 | octets as they are                                         from before there were keys, or of no club
//! ```
//!
//! The tag also covers table, column, row and club (`Place`), so that a value that was moved opens nowhere else. The row is
//! named by the id it is found by, not by its version: a value of an earlier version of the same row would open. Nonces are random;
//! with 2³² values under one key the chance of a repeated one stays below 2⁻³² (SP 800-38D, 8.3), and `plimsoll keys rotate`
//! begins another.
//!
//! A club's keys lie in `club_keys`, wrapped by a master key from a file outside the database. A connection unwraps them when it
//! first needs one and forgets them with its work: deleting the rows of a club ends the reading of its sealed values in every
//! process at once.

mod keys;
mod master;
mod private;
mod row;

pub(super) use keys::{ClubKeys, DataKey, Place, RowKey};
pub use master::{MasterKeyError, MasterKeys};
pub use private::Private;
pub(super) use row::{
    Kept, PrivateField, SealedField, for_sealing, kept_as_it_is, opened, opened_versions,
    sealed_row,
};
