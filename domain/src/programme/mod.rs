//! A programme of training: blocks of weeks, days with sessions, and in each session its items in order.
//!
//! Weeks have numbers from 1 on and no dates: these come with an assignment. A dose is exactly one of repetitions, seconds and a
//! measured way. Amounts stay in the unit they were entered in and are converted exactly. What nobody said is `None`, never 0.
//!
//! A programme is an intention: what it comes to is planned load and planned landings, and it clears nobody.

mod amount;
mod changes;
mod dated;
mod followed;
mod gate;
mod item;
mod jumps;
mod legs;
mod outline;
mod warm_up;

pub use amount::{Amount, AmountError, Extent, Weight};
pub use changes::{Change, Changes, ChangesError, Place, TheirItem};
pub use dated::{Dated, NoEffort, dated, plan_sessions};
pub use followed::{BesidePlan, Logged, beside_plan};
pub use gate::{Missing, UnsignedLoad, missing, unsigned_load};
pub use item::{
    Against, Band, Dose, HoldSeconds, Item, ItemNote, OneSide, RestSeconds, TextError, WorkSeconds,
};
pub use jumps::{SessionJumps, session_jumps, week_jumps};
pub use legs::{Direction, Leg, Legs, LegsError};
pub use outline::{Block, Day, OutlineError, Placed, Programme, Session, Week};
pub use warm_up::SessionWarmUp;
