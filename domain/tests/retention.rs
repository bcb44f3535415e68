//! What holds of any terms, memberships, holds and nights.
#![allow(clippy::unwrap_used)]

use jiff::Span;
use jiff::civil::{Date, date};
use plimsoll_domain::RecordClass;
use plimsoll_domain::retention::{Hold, Night, Terms, erased, left_on, needs, with_terms};
use proptest::prelude::*;

fn day(number: i64) -> Date {
    date(2026, 1, 1)
        .checked_add(Span::new().days(number))
        .unwrap()
}

fn any_terms() -> impl Strategy<Value = Terms> {
    let one = prop::option::of(0..60_u32);
    prop::collection::vec(one, 6).prop_map(|days| {
        let terms = with_terms().zip(days);
        Terms::new(terms.filter_map(|(class, days)| Some((class, days?)))).unwrap()
    })
}

fn some_holds() -> impl Strategy<Value = Vec<Hold>> {
    let hold = prop::option::of(0..200_i64).prop_map(|until| Hold {
        until: until.map(day),
    });
    prop::collection::vec(hold, 0..3)
}

fn some_last_days() -> impl Strategy<Value = Vec<Option<Date>>> {
    let last = prop::option::weighted(0.8, 0..100_i64);
    prop::collection::vec(last.prop_map(|last| last.map(day)), 0..5)
}

/// As the whole rule goes, from memberships to classes.
fn of(
    memberships: &[Option<Date>],
    nights: [(i64, &Terms); 2],
    holds: &[Hold],
) -> Vec<RecordClass> {
    let [before, tonight] = nights.map(|(date, terms)| Night {
        date: day(date),
        terms,
    });
    let left = left_on(memberships.iter().copied());
    left.map_or_else(Vec::new, |left| {
        erased((tonight, left), Some((before, left)), holds)
    })
}

proptest! {
    /// While somebody is a member, on the last day of a membership too, nothing of her goes.
    #[test]
    fn nothing_goes_while_she_is_a_member(
        memberships in some_last_days(), terms in any_terms(), tonight in 0..200_i64, holds in some_holds(),
    ) {
        let is_member = memberships.iter().any(|last| last.is_none_or(|last| day(tonight) <= last));
        if is_member || memberships.is_empty() {
            prop_assert_eq!(of(&memberships, [(tonight - 1, &terms), (tonight, &terms)], &holds), vec![]);
        }
    }

    /// Nothing goes while a hold stands, and without one the holds that are over change nothing.
    #[test]
    fn nothing_goes_while_she_is_held(
        memberships in some_last_days(), terms in any_terms(), tonight in 0..200_i64, holds in some_holds(),
    ) {
        let nights = [(tonight - 1, &terms), (tonight, &terms)];
        let expected = match holds.iter().any(|hold| hold.is_on(day(tonight))) {
            true => vec![],
            false => of(&memberships, nights, &[]),
        };
        prop_assert_eq!(of(&memberships, nights, &holds), expected);
    }

    /// What goes has a term that is over, goes after what needs it, and leaves nothing behind that needs it.
    #[test]
    fn no_class_goes_that_another_needs(
        memberships in some_last_days(), earlier in any_terms(), terms in any_terms(), tonight in 0..200_i64,
    ) {
        let gone = of(&memberships, [(tonight - 1, &earlier), (tonight, &terms)], &[]);
        for (place, class) in gone.iter().enumerate() {
            let own = terms.each().find(|(one, _)| one == class).map(|(_, days)| i64::from(days));
            let left = left_on(memberships.iter().copied()).unwrap();
            prop_assert!(day(tonight) > left.checked_add(Span::new().days(own.unwrap())).unwrap());
            for other in with_terms().filter(|other| needs(*other).contains(class)) {
                prop_assert!(gone[..place].contains(&other), "{other:?} needs {class:?}: {gone:?}");
            }
        }
    }

    /// What is due once stays due: later nights lose nothing.
    #[test]
    fn what_is_due_stays_due(terms in any_terms(), left in 0..100_i64, on in 0..200_i64, later in 0..50_i64) {
        let over = |on| Night { date: day(on), terms: &terms }.over(day(left));
        let (now, then) = (over(on), over(on + later));
        prop_assert!(now.iter().all(|one| then.contains(one)));
    }

    /// A longer term never lets anything go earlier.
    #[test]
    fn a_longer_term_keeps_at_least_as_much(terms in any_terms(), more in 0..30_u32, left in 0..100_i64, on in 0..250_i64) {
        let longer = Terms::new(terms.each().map(|(class, days)| (class, days + more))).unwrap();
        let over = |terms| Night { date: day(on), terms }.over(day(left));
        let (short, long) = (over(&terms), over(&longer));
        prop_assert!(long.iter().all(|one| short.iter().any(|other| other.class == one.class)));
    }

    /// A night that no other confirms erases nothing, whatever its date: a wrong clock has shown nobody what it would erase.
    #[test]
    fn a_leap_of_the_clock_erases_nothing(terms in any_terms(), left in 0..100_i64, before in 0..200_i64, leap in 8..40_000_i64) {
        let nights = [(before, &terms), (before + leap, &terms)];
        prop_assert_eq!(of(&[Some(day(left))], nights, &[]), vec![]);
        prop_assert_eq!(of(&[Some(day(left))], [nights[1], nights[0]], &[]), vec![]);
    }
}
