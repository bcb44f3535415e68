//! Squads of a roster against those known. A squad that a roster does not name stays.

use std::collections::BTreeMap;

use super::rows::{Fault, FaultKind, Part, SquadRow, agree};
use super::{Field, KnownSquad, Outcome};

/// What becomes of one squad.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SquadPlan {
    /// Its key.
    pub key: String,
    /// The rows about it.
    pub rows: Vec<usize>,
    /// Its place among the known ones.
    pub known: Option<usize>,
    /// What becomes of it.
    pub outcome: Outcome,
    /// Its name from now on; empty where it is rejected.
    pub name: String,
}

impl SquadPlan {
    /// Whether nothing of it is taken.
    #[must_use]
    pub const fn is_rejected(&self) -> bool {
        matches!(self.outcome, Outcome::Rejected(_))
    }
}

pub(super) fn plan(known: &[KnownSquad], rows: &[SquadRow]) -> Vec<SquadPlan> {
    let places: BTreeMap<&str, usize> = known
        .iter()
        .enumerate()
        .map(|(at, squad)| (squad.key.as_str(), at))
        .collect();
    let mut by_key: BTreeMap<&str, Vec<&SquadRow>> = BTreeMap::new();
    for row in rows {
        by_key.entry(&row.key).or_default().push(row);
    }
    by_key
        .into_iter()
        .map(|(key, mut rows)| {
            rows.sort_by_key(|row| row.row);
            let place = places.get(key).copied();
            let (outcome, name) = outcome(place.map(|at| &known[at]), &rows);
            let rows = rows.iter().map(|row| row.row).collect();
            SquadPlan {
                key: key.to_owned(),
                rows,
                known: place,
                outcome,
                name,
            }
        })
        .collect()
}

fn outcome(known: Option<&KnownSquad>, rows: &[&SquadRow]) -> (Outcome, String) {
    let mut name = None;
    let agreed = rows
        .iter()
        .all(|row| agree(&mut name, row.name.as_ref()).is_some());
    let fault = |row: &SquadRow| match row.is_readable {
        false => Some(FaultKind::Unreadable),
        true if !agreed => Some(FaultKind::Contradicted),
        true if name.is_none() && known.is_none() => Some(FaultKind::NoName),
        true => None,
    };
    let found = rows.iter().map(|row| (row.row, fault(row)));
    if let Some(faults) = rejected(found, Part::Name) {
        return (Outcome::Rejected(faults), String::new());
    }
    match (known, name) {
        (None, name) => (Outcome::Created, name.unwrap_or_default()),
        (Some(known), Some(name)) if name != known.name => {
            (Outcome::Changed(vec![Field::Name]), name)
        }
        (Some(known), _) => (Outcome::Unchanged, known.name.clone()),
    }
}

/// The faults of all rows of one key, where one of them has a fault: nothing of it is taken then.
fn rejected(
    rows: impl Iterator<Item = (usize, Option<FaultKind>)>,
    part: Part,
) -> Option<Vec<Fault>> {
    let rows: Vec<_> = rows.collect();
    rows.iter().any(|(_, kind)| kind.is_some()).then(|| {
        let fault = |(row, kind): &(usize, Option<FaultKind>)| match kind {
            Some(kind) => Fault {
                row: *row,
                part,
                kind: *kind,
            },
            None => Fault {
                row: *row,
                part: Part::Key,
                kind: FaultKind::BesideRejected,
            },
        };
        rows.iter().map(fault).collect()
    })
}
