//! People of a roster against those known.

use std::collections::{BTreeMap, BTreeSet};

use super::check::{self, Placed};
use super::details::merged;
use super::guardians::Circles;
use super::link::{LinkChange, Terms};
use super::matched::Matched;
use super::rows::{Details, Fault, FaultKind, Part, PersonRow, Status};
use super::{Current, Field, Incoming, KnownPerson, Mode, Outcome};

/// What becomes of one person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonPlan {
    /// The key of her source.
    pub key: String,
    /// The rows about her; none of somebody whom a full roster does not name.
    pub rows: Vec<usize>,
    /// Her place among the known ones.
    pub known: Option<usize>,
    /// What becomes of her.
    pub outcome: Outcome,
    /// What is said of her from now on.
    pub details: Details,
    /// What becomes of her memberships.
    pub memberships: Vec<LinkChange<Terms>>,
    /// What becomes of her guardians.
    pub guardians: Vec<LinkChange<()>>,
}

impl PersonPlan {
    /// Her name from now on.
    #[must_use]
    pub fn name(&self) -> &str {
        self.details.name.as_deref().unwrap_or_default()
    }

    /// Whether nothing of her is taken.
    #[must_use]
    pub const fn is_rejected(&self) -> bool {
        matches!(self.outcome, Outcome::Rejected(_))
    }
}

/// The known people with a key, by key.
pub(super) fn by_key(current: &Current) -> BTreeMap<&str, usize> {
    let people = current.people.iter().enumerate();
    people
        .filter_map(|(at, person)| Some((person.key.as_deref()?, at)))
        .collect()
}

/// What a person's rows are held against.
#[derive(Debug)]
pub(super) struct Around<'a> {
    pub(super) current: &'a Current,
    pub(super) known: &'a BTreeMap<&'a str, usize>,
    pub(super) squads: &'a BTreeSet<&'a str>,
    pub(super) circles: &'a Circles<'a>,
    pub(super) incoming: &'a Incoming,
    /// Whether any row names a guardian: a roster without them, as one of another program, says nothing of them and ends no link.
    pub(super) names_guardians: bool,
}

impl<'a> Around<'a> {
    /// The people whom the roster names, by key.
    pub(super) fn named(&self) -> Vec<PersonPlan> {
        let mut by_key: BTreeMap<&str, Vec<&PersonRow>> = BTreeMap::new();
        for row in &self.incoming.people {
            by_key.entry(&row.key).or_default().push(row);
        }
        let of_one = by_key.into_iter().map(|(key, mut rows)| {
            rows.sort_by_key(|row| row.row);
            self.person(key, &rows)
        });
        of_one.collect()
    }

    /// The people of the source whom a full roster does not name and who belong to a squad still, by key.
    pub(super) fn left(&self, named: &[PersonPlan]) -> Vec<PersonPlan> {
        let named: BTreeSet<&str> = named.iter().map(|person| person.key.as_str()).collect();
        let gone = self
            .known
            .iter()
            .filter(|(key, at)| self.current.people[**at].is_own && !named.contains(*key));
        let left = gone.map(|(key, _)| {
            let details = Details {
                status: Some(Status::Left),
                ..Details::default()
            };
            self.planned(key, Vec::new(), details, &[], &[])
        });
        left.filter(|person| person.outcome != Outcome::Unchanged)
            .collect()
    }

    fn person(&self, key: &str, rows: &[&PersonRow]) -> PersonPlan {
        let numbers: Vec<usize> = rows.iter().map(|row| row.row).collect();
        let memberships = check::placed(rows.iter().flat_map(|row| {
            let links = row.memberships.iter().enumerate();
            links.map(|(at, link)| (row.row, Part::Membership(at), link))
        }));
        let guardians = check::placed(rows.iter().flat_map(|row| {
            let links = row.guardians.iter().enumerate();
            links.map(|(at, link)| (row.row, Part::Guardian(at), link))
        }));
        let details = Details::agreed(rows.iter().map(|row| &row.details));
        let mut faults = self.faults_of_rows(key, rows, details.as_ref());
        faults.extend(check::too_many(&memberships));
        faults.extend(check::too_many(&guardians));
        let Some(details) = details.filter(|_| faults.is_empty()) else {
            return rejected(key, self.known.get(key).copied(), numbers, faults);
        };
        faults.extend(self.faults_of_links(key, &details, &memberships, &guardians));
        if !faults.is_empty() {
            return rejected(key, self.known.get(key).copied(), numbers, faults);
        }
        self.planned(key, numbers, details, &memberships, &guardians)
    }

    /// What is wrong with the rows themselves.
    fn faults_of_rows(
        &self,
        key: &str,
        rows: &[&PersonRow],
        details: Option<&Details>,
    ) -> Vec<Fault> {
        let known = self.known.get(key).map(|at| &self.current.people[*at]);
        let of_all = match (known, details) {
            (Some(person), _) if !person.is_own => Some((Part::Key, FaultKind::OfOtherSource)),
            (_, None) => Some((Part::Key, FaultKind::Contradicted)),
            (None, Some(said)) if said.status == Some(Status::Left) => {
                Some((Part::Key, FaultKind::UnknownPerson))
            }
            (None, Some(said)) if said.name.is_none() => Some((Part::Name, FaultKind::NoName)),
            _ => None,
        };
        let unreadable = rows.iter().any(|row| !row.is_readable);
        let fault = |row: &&PersonRow| {
            let (part, kind) = match of_all {
                _ if !row.is_readable => (Part::Key, FaultKind::Unreadable),
                _ if unreadable => (Part::Key, FaultKind::BesideRejected),
                found => found?,
            };
            Some(Fault {
                row: row.row,
                part,
                kind,
            })
        };
        rows.iter().filter_map(fault).collect()
    }

    /// What is wrong with her memberships and guardians.
    fn faults_of_links(
        &self,
        key: &str,
        details: &Details,
        memberships: &[Placed<'_, Terms>],
        guardians: &[Placed<'_, ()>],
    ) -> Vec<Fault> {
        let (of_squads, of_guardians) = self.names_all(details);
        let (squads, people) = self.matched(key, details, memberships, guardians);
        let mut faults = check::guardians(key, guardians, self.circles);
        faults.extend(check::days(guardians, &people, of_guardians));
        if details.status == Some(Status::Left) {
            let held = memberships.iter().filter(|placed| !placed.link.is_over);
            faults.extend(held.map(|placed| placed.fault(FaultKind::LeftWithMembership)));
            return faults;
        }
        faults.extend(check::squads(memberships, self.squads));
        faults.extend(check::days(memberships, &squads, of_squads));
        faults.extend(check::primaries(memberships, &squads, of_squads));
        faults
    }

    /// Whether every membership of hers is named, and every guardian: then the others end. Leaving ends memberships alone.
    fn names_all(&self, details: &Details) -> (bool, bool) {
        let (full, left) = (
            self.incoming.mode == Mode::Full,
            details.status == Some(Status::Left),
        );
        (full || left, full && !left && self.names_guardians)
    }

    fn matched(
        &self,
        key: &str,
        details: &Details,
        memberships: &[Placed<'_, Terms>],
        guardians: &[Placed<'_, ()>],
    ) -> (Matched<'a, Terms>, Matched<'a, ()>) {
        let (current, today) = (self.current, self.incoming.today);
        let known: Option<&KnownPerson> = self.known.get(key).map(|at| &current.people[*at]);
        let first_day = details
            .joined_on
            .or(known.map(|person| person.joined_on))
            .unwrap_or(today);
        let links: Vec<_> = memberships.iter().map(|placed| placed.link).collect();
        let of_squads = known.map_or(&[][..], |person| &person.memberships);
        let squads = Matched::of(of_squads, &links, today, first_day);
        let links: Vec<_> = guardians.iter().map(|placed| placed.link).collect();
        let of_guardians = known.map_or(&[][..], |person| &person.guardians);
        (squads, Matched::of(of_guardians, &links, today, today))
    }

    /// What becomes of somebody whose rows are in order.
    fn planned(
        &self,
        key: &str,
        rows: Vec<usize>,
        details: Details,
        memberships: &[Placed<'_, Terms>],
        guardians: &[Placed<'_, ()>],
    ) -> PersonPlan {
        let (of_squads, of_guardians) = self.names_all(&details);
        let (squads, people) = self.matched(key, &details, memberships, guardians);
        let place = self.known.get(key).copied();
        let (memberships, guardians) = (squads.changes(of_squads), people.changes(of_guardians));
        let left = details.status == Some(Status::Left);
        let first = squads
            .wanted
            .iter()
            .flatten()
            .map(|(_, wanted)| wanted.from)
            .min();
        let known = place.map(|at| &self.current.people[at]);
        let usual = first.unwrap_or(self.incoming.today);
        let (details, mut fields) = merged(known, details, usual);
        fields.extend((!memberships.is_empty()).then_some(Field::Memberships));
        fields.extend((!guardians.is_empty()).then_some(Field::Guardians));
        let outcome = match known {
            None => Outcome::Created,
            Some(_) if fields.is_empty() => Outcome::Unchanged,
            Some(_) if left => Outcome::Removed,
            Some(_) => Outcome::Changed(fields),
        };
        PersonPlan {
            key: key.to_owned(),
            rows,
            known: place,
            outcome,
            details,
            memberships,
            guardians,
        }
    }
}

fn rejected(
    key: &str,
    known: Option<usize>,
    rows: Vec<usize>,
    mut faults: Vec<Fault>,
) -> PersonPlan {
    let faulty: BTreeSet<usize> = faults.iter().map(|fault| fault.row).collect();
    let beside = rows.iter().filter(|row| !faulty.contains(row));
    let beside = beside.map(|row| Fault {
        row: *row,
        part: Part::Key,
        kind: FaultKind::BesideRejected,
    });
    faults.extend(beside.collect::<Vec<_>>());
    faults.sort_unstable();
    PersonPlan {
        key: key.to_owned(),
        rows,
        known,
        outcome: Outcome::Rejected(faults),
        details: Details::default(),
        memberships: Vec::new(),
        guardians: Vec::new(),
    }
}
