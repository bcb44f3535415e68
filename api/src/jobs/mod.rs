//! What the service does by itself when it is time.

pub mod calendars;
pub mod deliver;
mod each_club;
pub mod erasures;
pub mod look_ahead;
pub mod retention;
pub mod roster_sources;
pub mod sharing;
pub mod sign_heads;
pub mod watch;
pub mod weekly_close;
