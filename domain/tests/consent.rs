//! What holds of any sequence of consents and withdrawals.
#![allow(clippy::unwrap_used)]

use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::consent::{Consent, Standing, standing};
use proptest::prelude::*;

fn at(minute: i64) -> Timestamp {
    Timestamp::from_second(minute * 60).unwrap()
}

fn any_consent() -> impl Strategy<Value = Consent> {
    let later = 0..40_i64;
    (
        0..60_i64,
        later.clone(),
        prop::option::of(later.clone()),
        prop::option::of(later),
    )
        .prop_map(|(given, wait, lasts, withdrawn)| Consent {
            given_at: at(given),
            from: at(given + wait),
            until: lasts.map(|lasts| at(given + wait + lasts)),
            withdrawn_at: withdrawn.map(|after| at(given + after)),
        })
}

fn some_consents() -> impl Strategy<Value = Vec<Consent>> {
    prop::collection::vec(any_consent(), 0..6)
}

proptest! {
    /// From the instant of a withdrawal on nothing that was said before it, or with it, is in force.
    #[test]
    fn a_withdrawal_always_wins_from_its_instant(consents in some_consents(), now in 0..140_i64) {
        let now = at(now);
        if standing(&consents, now) == Standing::InForce {
            let last = consents.iter().filter_map(|one| one.withdrawn_at).filter(|then| *then <= now).max();
            let carries = |one: &Consent| {
                one.from <= now && one.until.is_none_or(|until| now < until) && last.is_none_or(|then| then < one.given_at)
            };
            prop_assert!(consents.iter().any(carries));
        }
    }

    /// Withdrawing everything that was said leaves nothing in force.
    #[test]
    fn nothing_is_left_when_all_is_withdrawn(consents in some_consents(), now in 0..140_i64) {
        let now = at(now);
        let mut all: Vec<Consent> = consents.into_iter().filter(|one| one.given_at <= now).collect();
        for one in &mut all {
            one.withdrawn_at = Some(one.withdrawn_at.map_or(now, |then| then.min(now)));
        }
        let left = standing(&all, now);
        prop_assert!(left == Standing::Withdrawn || (left == Standing::NeverGiven && all.is_empty()));
    }

    /// Nothing is in force before the first instant of any consent, or before it was given.
    #[test]
    fn never_before_its_start(consents in some_consents(), now in 0..140_i64) {
        let first = consents.iter().map(|one| one.from.max(one.given_at)).min();
        if first.is_none_or(|first| at(now) < first) {
            prop_assert_ne!(standing(&consents, at(now)), Standing::InForce);
        }
    }

    /// The order in which consents came to be known does not matter.
    #[test]
    fn the_order_of_arrival_does_not_matter(
        (consents, mixed) in some_consents().prop_flat_map(|all| (Just(all.clone()), Just(all).prop_shuffle())),
        now in 0..140_i64,
    ) {
        prop_assert_eq!(standing(&consents, at(now)), standing(&mixed, at(now)));
    }

    /// What is said later does not change how things stood.
    #[test]
    fn the_past_stays(consents in some_consents(), later in any_consent(), hours_before in 1..140_i64) {
        let now = later.given_at - SignedDuration::from_hours(hours_before);
        let mut more = consents.clone();
        more.push(later);
        for one in &mut more {
            one.withdrawn_at = one.withdrawn_at.or(Some(at(200)));
        }
        prop_assert_eq!(standing(&consents, now), standing(&more, now));
    }
}
