//! Flags: one a club, athlete, rule and ISO week, with a version each time it is judged.

mod acknowledgements;
mod hidden;
mod identity;
mod versions;

pub use acknowledgements::{Acknowledgement, NewAcknowledgement, acknowledge, acknowledgements};
pub use hidden::hide;
pub use identity::{Flag, NewFlag, find_or_create, raised_in_weeks};
pub use versions::{
    FlagFilter, FlagVersion, Judged, NewFlagVersion, append, current, histories, history, in_weeks,
    page,
};
