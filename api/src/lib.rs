//! The Plimsoll service.
