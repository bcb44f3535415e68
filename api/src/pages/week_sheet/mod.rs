//! What an athlete is to do in some days, as a sheet to print, tick and write on.

pub mod page;
pub mod sheet;
mod tables;
mod words;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::services::programmes::assigned::{AssignedAnswer, AssignedItem};

/// What the sheet shows beside the answer.
#[derive(Debug)]
pub struct Beside {
    /// The athlete's name.
    pub display_name: String,
    /// The state of knowledge.
    pub as_of: Timestamp,
    /// The athlete's zone, in which times are told.
    pub zone: TimeZone,
}

/// Every exercise once, in the order in which it first comes.
fn exercises(answer: &AssignedAnswer) -> Vec<&AssignedItem> {
    let items = answer.sessions.iter().flat_map(|session| &session.items);
    let mut found: Vec<&AssignedItem> = Vec::new();
    for item in items {
        let is_there = |one: &&AssignedItem| one.item.exercise == item.item.exercise;
        if !found.iter().any(is_there) {
            found.push(item);
        }
    }
    found
}
