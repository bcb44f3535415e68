//! Guardians in a circle: nobody is the guardian of her own guardian, straight or through others.

use std::collections::{BTreeMap, BTreeSet};

use super::{Current, Incoming, Mode, PersonRow};

/// Somebody, and a guardian of hers, by key.
type Edge<'a> = (&'a str, &'a str);

/// Times that circles are looked for; a roster that needs more is refused whole as far as guardians go.
const ROUNDS: usize = 16;

/// Who closes circles, and who lies on them. A guardian who is an athlete too is fine by herself.
#[derive(Debug, Default)]
pub(super) struct Circles<'a> {
    closing: BTreeSet<&'a str>,
    on: BTreeSet<&'a str>,
}

impl<'a> Circles<'a> {
    /// Looks for circles in what guardians will be: those named of who is taken, those known of everybody else. Who closes one is
    /// not taken, and her known guardians may close another.
    pub(super) fn of(
        current: &'a Current,
        known: &BTreeMap<&'a str, usize>,
        incoming: &'a Incoming,
        rejected: BTreeSet<&'a str>,
    ) -> Self {
        let (mut found, mut rejected) = (Self::default(), rejected);
        for round in 0..=ROUNDS {
            let edges = edges(current, known, incoming, &rejected);
            found.on.extend(on_a_circle(&edges));
            let taken = incoming
                .people
                .iter()
                .filter(|row| !rejected.contains(row.key.as_str()));
            let closes = |row: &&PersonRow| {
                let mut guardians = row.guardians.iter().map(|link| link.key.as_str());
                round == ROUNDS
                    || found.on.contains(row.key.as_str())
                        && guardians.any(|key| found.on.contains(key))
            };
            let closing: Vec<&str> = taken.filter(closes).map(|row| row.key.as_str()).collect();
            if closing.is_empty() {
                break;
            }
            rejected.extend(&closing);
            found.closing.extend(closing);
        }
        found
    }

    /// Whether it is this guardian of hers that closes a circle.
    pub(super) fn refuse(&self, person: &str, guardian: &str) -> bool {
        self.closing.contains(person) && self.on.contains(guardian)
    }
}

/// Who is whose guardian once the roster was taken over, as far as it is.
fn edges<'a>(
    current: &'a Current,
    known: &BTreeMap<&'a str, usize>,
    incoming: &'a Incoming,
    rejected: &BTreeSet<&'a str>,
) -> BTreeSet<Edge<'a>> {
    let taken = || {
        incoming
            .people
            .iter()
            .filter(|row| !rejected.contains(row.key.as_str()))
    };
    let of_rows = taken().flat_map(|row| {
        let links = row.guardians.iter().filter(|link| !link.is_over);
        links.map(|link| (row.key.as_str(), link.key.as_str()))
    });
    let named: BTreeSet<&str> = match incoming.mode {
        Mode::Full => taken().map(|row| row.key.as_str()).collect(),
        Mode::Delta => BTreeSet::new(),
    };
    let beside = known.iter().filter(|(key, _)| !named.contains(*key));
    let of_others = beside.flat_map(|(key, at)| {
        let open = current.people[*at]
            .guardians
            .iter()
            .filter(|link| link.is_open(incoming.today));
        open.filter_map(|link| Some((*key, link.key.as_deref()?)))
    });
    // Being one's own guardian is told by itself.
    of_rows
        .chain(of_others)
        .filter(|(of, guardian)| of != guardian)
        .collect()
}

/// Those on a circle, or between two.
fn on_a_circle<'a>(edges: &BTreeSet<Edge<'a>>) -> BTreeSet<&'a str> {
    let back: BTreeSet<Edge<'_>> = edges
        .iter()
        .map(|(of, guardian)| (*guardian, *of))
        .collect();
    let from_here = leading_to_a_circle(edges);
    leading_to_a_circle(&back)
        .into_iter()
        .filter(|key| from_here.contains(key))
        .collect()
}

/// Where edges lead on without end: what is left when ends are taken away again and again.
fn leading_to_a_circle<'a>(edges: &BTreeSet<Edge<'a>>) -> BTreeSet<&'a str> {
    let mut onward: BTreeMap<&str, usize> = BTreeMap::new();
    let mut before: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (from, to) in edges {
        *onward.entry(from).or_default() += 1;
        onward.entry(to).or_default();
        before.entry(to).or_default().push(from);
    }
    let mut ends: Vec<&str> = onward
        .iter()
        .filter(|(_, edges)| **edges == 0)
        .map(|(key, _)| *key)
        .collect();
    while let Some(end) = ends.pop() {
        onward.remove(end);
        for from in before.get(end).into_iter().flatten() {
            if let Some(edges) = onward.get_mut(from) {
                *edges -= 1;
                ends.extend((*edges == 0).then_some(*from));
            }
        }
    }
    onward.into_keys().collect()
}
