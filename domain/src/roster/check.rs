//! What keeps the links of one person from being taken.

use std::collections::BTreeSet;

use super::guardians::Circles;
use super::link::{Dated, Link, MOST, Terms};
use super::matched::Matched;
use super::rows::{Fault, FaultKind, Part};

/// A link with its place: the row, and which of the row's it is.
#[derive(Debug)]
pub(super) struct Placed<'a, T> {
    pub(super) row: usize,
    pub(super) part: Part,
    pub(super) link: &'a Link<T>,
}

/// The links of all rows of one person, in their order and each once: what is said twice is said once.
pub(super) fn placed<'a, T: Ord>(
    links: impl Iterator<Item = (usize, Part, &'a Link<T>)>,
) -> Vec<Placed<'a, T>> {
    let mut placed: Vec<_> = links
        .map(|(row, part, link)| Placed { row, part, link })
        .collect();
    placed.sort_by(|one, other| {
        (one.link, one.row, one.part).cmp(&(other.link, other.row, other.part))
    });
    placed.dedup_by(|one, other| one.link == other.link);
    placed
}

impl<T> Placed<'_, T> {
    pub(super) fn fault(&self, kind: FaultKind) -> Fault {
        Fault {
            row: self.row,
            part: self.part,
            kind,
        }
    }
}

/// More links than anybody has.
pub(super) fn too_many<T>(links: &[Placed<'_, T>]) -> Option<Fault> {
    links.get(MOST).map(|link| link.fault(FaultKind::TooMany))
}

/// Links that end before they begin, and those that overlap another of the same key.
pub(super) fn days<T: Clone + Ord>(
    links: &[Placed<'_, T>],
    matched: &Matched<'_, T>,
    names_all: bool,
) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (at, (link, wanted)) in links.iter().zip(&matched.wanted).enumerate() {
        let Some((_, wanted)) = wanted else { continue };
        if wanted.to.is_some_and(|to| to < wanted.from) {
            faults.push(link.fault(FaultKind::Reversed));
        } else if others(matched, at, names_all)
            .any(|other| other.key == wanted.key && other.meets(wanted))
        {
            faults.push(link.fault(FaultKind::Overlapping));
        }
    }
    faults
}

/// Main squads beside another main squad.
pub(super) fn primaries(
    links: &[Placed<'_, Terms>],
    matched: &Matched<'_, Terms>,
    names_all: bool,
) -> Vec<Fault> {
    let second = |at: usize, wanted: &Dated<Terms>| {
        let mut others = others(matched, at, names_all).filter(|other| other.terms.primary);
        wanted.terms.primary && others.any(|other| other.key != wanted.key && other.meets(wanted))
    };
    let pairs = links.iter().zip(&matched.wanted).enumerate();
    pairs
        .filter_map(|(at, (link, wanted))| {
            let (_, wanted) = wanted.as_ref()?;
            second(at, wanted).then(|| link.fault(FaultKind::SecondPrimary))
        })
        .collect()
}

/// What stands beside the wanted link at a place: the other wanted ones, and the rest as it will be.
fn others<'a, T: Clone + Ord>(
    matched: &'a Matched<'_, T>,
    at: usize,
    names_all: bool,
) -> impl Iterator<Item = Dated<T>> + use<'a, T> {
    let wanted = matched
        .wanted
        .iter()
        .enumerate()
        .filter(move |(place, _)| *place != at);
    let wanted = wanted.filter_map(|(_, one)| one.as_ref().map(|(_, wanted)| wanted.clone()));
    let rest = matched.rest().map(move |(_, one)| {
        let to = matched.last_day(one, names_all).or(one.to);
        Dated { to, ..one.clone() }
    });
    wanted
        .chain(rest)
        .filter(|one| one.to.is_none_or(|to| one.from <= to))
}

/// Memberships of squads that are not there.
pub(super) fn squads(links: &[Placed<'_, Terms>], known: &BTreeSet<&str>) -> Vec<Fault> {
    let unknown = links
        .iter()
        .filter(|placed| !known.contains(placed.link.key.as_str()));
    unknown
        .map(|placed| placed.fault(FaultKind::UnknownSquad))
        .collect()
}

/// Guardians who cannot be.
pub(super) fn guardians(
    person: &str,
    links: &[Placed<'_, ()>],
    circles: &Circles<'_>,
) -> Vec<Fault> {
    let kind = |guardian: &str| match guardian == person {
        true => Some(FaultKind::OwnGuardian),
        false => circles
            .refuse(person, guardian)
            .then_some(FaultKind::CircularGuardian),
    };
    let faults = links
        .iter()
        .filter_map(|placed| Some(placed.fault(kind(&placed.link.key)?)));
    faults.collect()
}
