//! How many members a roster would make leave.

use jiff::civil::Date;

use super::link::{Dated, LinkChange, Terms};
use super::people::PersonPlan;
use super::{Current, KnownPerson};

/// How many of the source's people belong to a squad of the roster, and how many of them no longer will.
pub(super) fn leaving(current: &Current, people: &[PersonPlan], today: Date) -> (usize, usize) {
    let open = |link: &&Dated<Terms>| link.key.is_some() && link.is_open(today);
    let is_member =
        |person: &KnownPerson| person.is_own && person.memberships.iter().any(|link| open(&link));
    let members = current
        .people
        .iter()
        .filter(|person| is_member(person))
        .count();
    let leaves = |plan: &&PersonPlan| {
        let Some(person) = plan
            .known
            .map(|at| &current.people[at])
            .filter(|person| is_member(person))
        else {
            return false;
        };
        let mut after: Vec<Option<&Dated<Terms>>> = person.memberships.iter().map(Some).collect();
        for change in &plan.memberships {
            match change {
                LinkChange::Begin(link) => after.push(Some(link)),
                LinkChange::Change { known, to } => after[*known] = Some(to),
                LinkChange::Withdraw { known } => after[*known] = None,
            }
        }
        !after.iter().flatten().any(open)
    };
    (members, people.iter().filter(leaves).count())
}
