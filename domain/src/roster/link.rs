//! From when to when somebody belongs to a squad, or has a guardian.

use jiff::civil::Date;

use crate::coded::coded_enum;

/// Most links of one kind that one person's rows may name; an athlete has some squads and up to four guardians.
pub const MOST: usize = 50;

coded_enum! {
    /// In which capacity an athlete belongs to a squad.
    MembershipRole {
        /// On the squad's own list.
        Member = "member",
        /// Trains with the squad, plays elsewhere.
        Guest = "guest",
        /// Called up from another squad.
        CallUp = "call_up",
    }
}

/// The terms of a membership.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Terms {
    /// In which capacity.
    pub role: MembershipRole,
    /// Whether it is her main squad.
    pub primary: bool,
}

/// A link as a roster says it: to a squad, or to a guardian.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Link<T> {
    /// The key of the squad or guardian.
    pub key: String,
    /// The first day; left out, that of the link that is known, or today.
    pub from: Option<Date>,
    /// The last day, once it is known.
    pub to: Option<Date>,
    /// Whether it is over as of today, whenever it was to end.
    pub is_over: bool,
    /// What is said of it beside its days.
    pub terms: T,
}

/// A link with its days.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Dated<T> {
    /// The key; `None` for a squad without one, which no roster can name.
    pub key: Option<String>,
    /// The first day.
    pub from: Date,
    /// The last day, once it is known.
    pub to: Option<Date>,
    /// What is said of it beside its days.
    pub terms: T,
}

impl<T> Dated<T> {
    /// Whether it holds on a day or later.
    pub(super) fn is_open(&self, today: Date) -> bool {
        self.to.is_none_or(|to| today <= to)
    }

    /// Whether there is a day on which both hold.
    pub(super) fn meets<U>(&self, other: &Dated<U>) -> bool {
        self.to.is_none_or(|to| other.from <= to) && other.to.is_none_or(|to| self.from <= to)
    }
}

/// What becomes of a link.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LinkChange<T> {
    /// It begins.
    Begin(Dated<T>),
    /// The known one at this place has other days or terms.
    Change {
        /// The place among the known ones.
        known: usize,
        /// What it is from now on.
        to: Dated<T>,
    },
    /// The known one at this place had not begun, and never will.
    Withdraw {
        /// The place among the known ones.
        known: usize,
    },
}
