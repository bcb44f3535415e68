//! Rows of a roster, and what can be wrong with them.

use jiff::civil::Date;

use super::link::{Link, Terms};
use crate::coded::coded_enum;

/// A squad as a row says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SquadRow {
    /// Its number in what was sent.
    pub row: usize,
    /// The roster's key.
    pub key: String,
    /// Whether every field of the row could be read.
    pub is_readable: bool,
    /// Its name; as it is where left out.
    pub name: Option<String>,
}

/// A person as a row says her.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonRow {
    /// Its number in what was sent.
    pub row: usize,
    /// The key of her source.
    pub key: String,
    /// Whether every field of the row could be read.
    pub is_readable: bool,
    /// What is said of herself.
    pub details: Details,
    /// Her squads.
    pub memberships: Vec<Link<Terms>>,
    /// Her guardians.
    pub guardians: Vec<Link<()>>,
}

/// What a row says of the person herself; what is left out stays as it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Details {
    /// The name shown.
    pub name: Option<String>,
    /// The day of birth.
    pub birth_date: Option<Date>,
    /// The first day of her record.
    pub joined_on: Option<Date>,
    /// Her home zone.
    pub time_zone: Option<String>,
    /// Whether she is still there.
    pub status: Option<Status>,
}

coded_enum! {
    /// Whether somebody is still there.
    Status {
        /// She is.
        Active = "active",
        /// She left.
        Left = "left",
    }
}

impl Details {
    /// What rows about one person say together; `None` where they contradict each other.
    pub(super) fn agreed<'a>(rows: impl Iterator<Item = &'a Details>) -> Option<Details> {
        let mut whole = Details::default();
        for row in rows {
            agree(&mut whole.name, row.name.as_ref())?;
            agree(&mut whole.birth_date, row.birth_date.as_ref())?;
            agree(&mut whole.joined_on, row.joined_on.as_ref())?;
            agree(&mut whole.time_zone, row.time_zone.as_ref())?;
            agree(&mut whole.status, row.status.as_ref())?;
        }
        Some(whole)
    }
}

/// Takes over what a row says, unless another row has said otherwise.
pub(super) fn agree<T: PartialEq + Clone>(whole: &mut Option<T>, said: Option<&T>) -> Option<()> {
    match (&whole, said) {
        (Some(before), Some(said)) => (before == said).then_some(()),
        (None, Some(said)) => {
            *whole = Some(said.clone());
            Some(())
        }
        (_, None) => Some(()),
    }
}

/// Something wrong with a row.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// The row.
    pub row: usize,
    /// Which part of it.
    pub part: Part,
    /// What is wrong.
    pub kind: FaultKind,
}

/// A part of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Its key.
    Key,
    /// The name.
    Name,
    /// The membership at this place among the row's.
    Membership(usize),
    /// The guardian at this place among the row's.
    Guardian(usize),
}

/// What is wrong with a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultKind {
    /// Some field of it cannot be read.
    Unreadable,
    /// Another row of the same key says otherwise.
    Contradicted,
    /// It is in order, and another row of the same key is not.
    BesideRejected,
    /// Somebody new without a name.
    NoName,
    /// Nobody of that key is known, so nobody can have left.
    UnknownPerson,
    /// The key belongs to an athlete of another source.
    OfOtherSource,
    /// Who left cannot belong to a squad.
    LeftWithMembership,
    /// No such squad, here or in the roster.
    UnknownSquad,
    /// It ends before it begins.
    Reversed,
    /// It overlaps another membership of the same squad.
    Overlapping,
    /// Another squad is the main one at that time.
    SecondPrimary,
    /// More than [`super::link::MOST`] of them.
    TooMany,
    /// Nobody is her own guardian.
    OwnGuardian,
    /// A guardian whose guardian she is, straight or through others.
    CircularGuardian,
}
