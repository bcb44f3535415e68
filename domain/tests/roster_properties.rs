//! Invariants of taking over a roster, as properties.
#![allow(clippy::unwrap_used)]

mod common;

use common::roster::{MAIN, MEMBER, TODAY, carried_out, incoming, link, roster, row, squad_row};
use jiff::ToSpan;
use jiff::civil::Date;
use plimsoll_domain::roster::{
    Current, Details, Incoming, Link, Mode, Outcome, PersonRow, Status, Terms, plan,
};
use proptest::prelude::*;

const SQUADS: [&str; 3] = ["a", "b", "c"];

fn day() -> impl Strategy<Value = Date> {
    (-400..100_i64).prop_map(|days| TODAY.saturating_add(days.days()))
}

fn membership() -> impl Strategy<Value = Link<Terms>> {
    let squad = prop::sample::select(vec!["a", "b", "c", "c", "nowhere"]);
    let days = (prop::option::of(day()), prop::option::of(day()));
    (squad, days, any::<bool>(), prop::bool::weighted(0.1)).prop_map(
        |(squad, (from, to), main, is_over)| Link {
            is_over,
            ..link(squad, from, to, if main { MAIN } else { MEMBER })
        },
    )
}

fn person() -> impl Strategy<Value = PersonRow> {
    let key = (0..8_u8).prop_map(|number| format!("P-{number}"));
    let name = prop::option::weighted(0.9, prop::sample::select(vec!["Runa Falk", "Ida Lund"]));
    let joined = prop::option::weighted(0.3, day());
    let status = prop_oneof![4 => Just(None), 1 => Just(Some(Status::Active)), 1 => Just(Some(Status::Left))];
    let guardian = (0..12_u8).prop_map(|number| link(&format!("P-{number}"), None, None, ()));
    let links = (
        prop::collection::vec(membership(), 0..4),
        prop::collection::vec(guardian, 0..2),
    );
    (key, name, joined, status, links).prop_map(
        |(key, name, joined_on, status, (memberships, guardians))| {
            let name = name.map(str::to_owned);
            let details = Details {
                name,
                joined_on,
                status,
                ..Details::default()
            };
            PersonRow {
                details,
                memberships,
                guardians,
                ..row(0, &key, "")
            }
        },
    )
}

fn sent() -> impl Strategy<Value = Incoming> {
    let mode = prop::sample::select(vec![Mode::Full, Mode::Delta]);
    let squads = prop::sample::subsequence(SQUADS.to_vec(), 0..=3);
    (mode, squads, prop::collection::vec(person(), 0..8)).prop_map(|(mode, squads, mut people)| {
        for (at, person) in people.iter_mut().enumerate() {
            person.row = at + 1;
        }
        let squads = squads
            .iter()
            .enumerate()
            .map(|(at, key)| squad_row(at + 1, key, key))
            .collect();
        Incoming {
            squads,
            ..incoming(mode, people)
        }
    })
}

/// What some imports, one after the other, make of an empty club.
fn imported(imports: &[Incoming]) -> Current {
    let empty = roster(&[], Vec::new());
    imports.iter().fold(empty, |current, sent| {
        carried_out(&current, &plan(&current, sent))
    })
}

proptest! {
    #[test]
    fn importing_again_changes_nothing(before in prop::collection::vec(sent(), 0..4), sent in sent()) {
        let current = imported(&before);
        let after = carried_out(&current, &plan(&current, &sent));
        let again = plan(&after, &sent);
        for person in &again.people {
            let settled = matches!(person.outcome, Outcome::Unchanged | Outcome::Rejected(_));
            prop_assert!(settled, "{person:?}");
        }
        prop_assert_eq!(carried_out(&after, &again), after);
    }

    #[test]
    fn the_order_of_rows_does_not_matter(before in prop::collection::vec(sent(), 0..3), sent in sent(), seed in any::<u64>()) {
        let current = imported(&before);
        let mut shuffled = sent.clone();
        shuffled.people.rotate_left(usize::try_from(seed % 8).unwrap() % sent.people.len().max(1));
        shuffled.people.reverse();
        shuffled.squads.reverse();
        prop_assert_eq!(plan(&current, &sent), plan(&current, &shuffled));
    }

    #[test]
    fn what_was_stays(before in prop::collection::vec(sent(), 1..4), sent in sent()) {
        let current = imported(&before);
        let after = carried_out(&current, &plan(&current, &Incoming { people: Vec::new(), mode: Mode::Full, ..sent }));
        prop_assert_eq!(after.people.len(), current.people.len());
        let past = |current: &Current| -> Vec<(usize, Option<String>, Date, Date)> {
            let yesterday = TODAY.saturating_sub(1.day());
            let links = current.people.iter().enumerate().flat_map(|(at, person)| person.memberships.iter().map(move |link| (at, link)));
            links.filter(|(_, link)| link.from <= yesterday)
                .map(|(at, link)| (at, link.key.clone(), link.from, link.to.map_or(yesterday, |to| to.min(yesterday))))
                .collect()
        };
        prop_assert_eq!(past(&after), past(&current));
    }

    #[test]
    fn memberships_of_one_squad_never_overlap(imports in prop::collection::vec(sent(), 1..6)) {
        for person in imported(&imports).people {
            for (at, one) in person.memberships.iter().enumerate() {
                for other in &person.memberships[at + 1..] {
                    let meet = one.to.is_none_or(|to| other.from <= to) && other.to.is_none_or(|to| one.from <= to);
                    prop_assert!(!meet || one.key != other.key, "{one:?} {other:?}");
                    prop_assert!(!(meet && one.terms.primary && other.terms.primary), "{one:?} {other:?}");
                }
            }
        }
    }
}
