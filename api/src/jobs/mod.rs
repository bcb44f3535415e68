//! What the service does by itself when it is time.

pub mod deliver;
mod each_club;
pub mod look_ahead;
pub mod watch;
pub mod weekly_close;
