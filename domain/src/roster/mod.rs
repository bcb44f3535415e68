//! A roster that comes in against the one that is there: who is new, who changed and in what, who left, and which rows cannot be
//! taken.
//!
//! A person is known by the key that her source gives her, never by name or birth date. A full roster names everybody; who is known
//! and not named has left: her memberships end with the day before, and nothing that was is taken back. A delta names what changed.
//! A field that is left out stays as it is. The plan does not depend on the order of the rows, and planning again after it was
//! carried out changes nothing.
//!
//! Dates are both included. All rules here are common practice, no source.

mod check;
mod details;
mod guardians;
mod leaving;
mod likeness;
mod link;
mod matched;
mod people;
mod rows;
mod squads;

pub use likeness::{CopyOf, SecondCopy};
pub use link::{Dated, Link, LinkChange, MOST as MOST_LINKS, MembershipRole, Terms};
pub use people::PersonPlan;
pub use rows::{Details, Fault, FaultKind, Part, PersonRow, SquadRow, Status};
pub use squads::SquadPlan;

use std::collections::{BTreeMap, BTreeSet};

use guardians::Circles;
use jiff::civil::Date;

use crate::coded::coded_enum;

coded_enum! {
    /// Whether a roster names everybody.
    Mode {
        /// Everybody; who is not named has left.
        Full = "full",
        /// What changed.
        Delta = "delta",
    }
}

coded_enum! {
    /// What of a person or a squad differs from what was known.
    Field {
        /// The name shown.
        Name = "display_name",
        /// The day of birth.
        BirthDate = "birth_date",
        /// The first day of the record.
        JoinedOn = "joined_on",
        /// The home zone.
        Zone = "time_zone",
        /// Squads, or the terms of belonging to them.
        Memberships = "memberships",
        /// Guardians.
        Guardians = "guardians",
    }
}

/// What becomes of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Nobody had the key.
    Created,
    /// These fields are others.
    Changed(Vec<Field>),
    /// All of it was known.
    Unchanged,
    /// She left: what held ends, nothing is taken back.
    Removed,
    /// It cannot be taken, and nothing of it is.
    Rejected(Vec<Fault>),
}

/// A squad as known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownSquad {
    /// The roster's key.
    pub key: String,
    /// Its name.
    pub name: String,
}

/// An athlete as known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownPerson {
    /// The key that her source gave her, where it gave one.
    pub key: Option<String>,
    /// Whether she is of the source whose roster comes in.
    pub is_own: bool,
    /// The name shown.
    pub name: String,
    /// The day of birth.
    pub birth_date: Option<Date>,
    /// The first day of her record.
    pub joined_on: Date,
    /// Her home zone.
    pub time_zone: Option<String>,
    /// Her memberships, those of squads without a key too.
    pub memberships: Vec<Dated<Terms>>,
    /// Her guardians.
    pub guardians: Vec<Dated<()>>,
}

/// The roster that is there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Current {
    /// Squads with a key.
    pub squads: Vec<KnownSquad>,
    /// Every athlete of the club, of whatever source.
    pub people: Vec<KnownPerson>,
}

/// The roster that comes in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Incoming {
    /// Whether it names everybody.
    pub mode: Mode,
    /// The club's date on which it comes.
    pub today: Date,
    /// Squads.
    pub squads: Vec<SquadRow>,
    /// People, a person in one row or more.
    pub people: Vec<PersonRow>,
    /// Whether some row does not tell whom it is about: then nobody is taken to have left.
    pub has_nameless: bool,
}

impl Incoming {
    /// Whether who is not named is taken to have left.
    #[must_use]
    pub const fn judges_leaving(&self) -> bool {
        matches!(self.mode, Mode::Full) && !self.has_nameless
    }
}

/// What is to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Squads, by key.
    pub squads: Vec<SquadPlan>,
    /// People, by key: those named, then those who left.
    pub people: Vec<PersonPlan>,
    /// New people who are perhaps somebody known; a proposal for a person to decide, nothing is merged.
    pub second_copies: Vec<SecondCopy>,
    /// People of the source who belong to a squad on the day or later.
    pub members: usize,
    /// Those of them who belong to none afterwards.
    pub leaving: usize,
}

impl Plan {
    /// Whether more than a fifth of the members would leave, which is more often a broken export than a season's end.
    #[must_use]
    pub const fn is_large_removal(&self) -> bool {
        self.leaving * 5 > self.members
    }

    /// Whether a row of somebody can be taken.
    #[must_use]
    pub fn takes_somebody(&self) -> bool {
        let mut named = self.people.iter().filter(|person| !person.rows.is_empty());
        named.any(|person| !matches!(person.outcome, Outcome::Rejected(_)))
    }
}

/// Plans how the current roster becomes the one that comes in.
#[must_use]
pub fn plan(current: &Current, incoming: &Incoming) -> Plan {
    let squads = squads::plan(&current.squads, &incoming.squads);
    let squad_keys: BTreeSet<&str> = current
        .squads
        .iter()
        .map(|squad| squad.key.as_str())
        .collect();
    let made = squads
        .iter()
        .filter(|squad| squad.known.is_none() && !squad.is_rejected());
    let squad_keys = squad_keys
        .into_iter()
        .chain(made.map(|squad| squad.key.as_str()))
        .collect();
    let known: BTreeMap<&str, usize> = people::by_key(current);
    let mut rows = incoming.people.iter();
    let names_guardians = rows.any(|row| !row.guardians.is_empty());
    let around = |circles| people::Around {
        current,
        known: &known,
        squads: &squad_keys,
        circles,
        names_guardians,
        incoming,
    };
    let without_circles = Circles::default();
    let first = around(&without_circles).named();
    let rejected = first
        .iter()
        .filter(|person| person.is_rejected())
        .map(|person| person.key.as_str());
    let circles = Circles::of(current, &known, incoming, rejected.collect());
    let around = around(&circles);
    let mut people = around.named();
    if incoming.judges_leaving() {
        let left = around.left(&people);
        people.extend(left);
    }
    let (members, leaving) = leaving::leaving(current, &people, incoming.today);
    Plan {
        second_copies: likeness::second_copies(current, &people),
        squads,
        people,
        members,
        leaving,
    }
}
