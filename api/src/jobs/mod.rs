//! What the service does by itself when it is time.

pub mod deliver;
pub mod weekly_close;
