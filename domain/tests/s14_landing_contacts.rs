//! S14, landing contacts and distances of one session, and the gap since the last one with jumps.
#![allow(clippy::unwrap_used)]

mod common;

use common::{example_policy, two};
use jiff::civil::date;
use plimsoll_domain::contacts::{
    Contacts, Exercise, Landing, Reps, Sets, Work, contacts, distance,
};
use plimsoll_domain::jump_rules::{jump_gap, landing_contacts};
use plimsoll_domain::measure::Length;
use plimsoll_domain::{Certainty, Decimal, Outcome, RuleCode};

const HURDLE_HOP: usize = 0;
const BLOCK_JUMP: usize = 1;
const JUMP_THROW: usize = 4;
const ONE_LEG_HOP: usize = 5;
const LATERAL_BOUND: usize = 6;
const SHUTTLE: usize = 9;

fn jumps(sets: i64, reps: i64, landing: Landing) -> Exercise {
    Exercise {
        sets: Sets::new(sets).unwrap(),
        work: Work::Reps(Reps::new(reps).unwrap()),
        landing: Some(landing),
        hands: 0,
        loaded: false,
    }
}

fn rounds(sets: i64, metres: i64) -> Exercise {
    Exercise {
        work: Work::Distance(Length::metres(metres).ok()),
        ..jumps(sets, 1, Landing::None)
    }
}

/// The totals of the scenario belong to three sets of jump throws; its list says two, which make every
/// total 10 less (both are tested).
fn session() -> Vec<Exercise> {
    vec![
        jumps(4, 5, Landing::BothFeet), // hurdle hop
        jumps(3, 6, Landing::BothFeet), // block jump
        Exercise {
            loaded: true,
            ..jumps(3, 5, Landing::BothFeet) // squat jump
        },
        jumps(2, 4, Landing::BothFeet), // standing long jump
        jumps(3, 5, Landing::EachFoot), // jump throw
        jumps(2, 6, Landing::EachFoot), // one-leg hurdle hop
        jumps(3, 8, Landing::EachFoot), // lateral bound
        Exercise {
            hands: 2,
            ..jumps(2, 6, Landing::None) // fall and roll
        },
        Exercise {
            loaded: true,
            ..rounds(2, 80) // carry
        },
        rounds(3, 45), // shuttle
    ]
}

fn without(left_out: &[usize]) -> Contacts {
    let kept = (0..)
        .zip(session())
        .filter(|(at, _)| !left_out.contains(at));
    contacts(&kept.map(|(_, exercise)| exercise).collect::<Vec<_>>())
}

fn beyond(limit: i32, contacts: &Contacts) -> (Outcome, String) {
    let judged = landing_contacts(Decimal::hundredths(100 * limit), contacts);
    (judged.outcome, two(judged.beyond))
}

#[test]
fn s14_contacts_by_feet_legs_and_hands() {
    let found = contacts(&session());
    assert_eq!(
        (found.both_feet, found.one_foot(), found.events()),
        (61, 102, 163)
    );
    assert_eq!((found.left_leg(), found.right_leg()), (112, 112));
    assert_eq!((found.loaded, found.hands, found.not_known), (15, 24, 0));
}

#[test]
fn s14_over_the_limit_of_a_novice() {
    let certain = Outcome::Raised(Certainty::Certain);
    let limit = example_policy()
        .rule(RuleCode::LandingContacts)
        .unwrap()
        .limit;
    assert_eq!(limit, Decimal::hundredths(10_000));
    assert_eq!(beyond(100, &contacts(&session())), (certain, "63".into()));
    assert_eq!(beyond(140, &contacts(&session())), (certain, "23".into()));
    let bounds_out = without(&[LATERAL_BOUND]);
    assert_eq!(
        (bounds_out.events(), beyond(100, &bounds_out).0),
        (115, certain)
    );
    let hops_out = without(&[LATERAL_BOUND, ONE_LEG_HOP]);
    assert_eq!(
        (hops_out.events(), beyond(100, &hops_out).0),
        (91, Outcome::NotRaised)
    );
}

#[test]
fn s14_two_sets_of_jump_throws_are_ten_contacts_less() {
    let mut fewer = session();
    fewer[JUMP_THROW] = jumps(2, 5, Landing::EachFoot);
    let found = contacts(&fewer);
    assert_eq!(
        (found.one_foot(), found.events(), found.left_leg()),
        (92, 153, 107)
    );
}

#[test]
fn s14_a_landing_that_is_not_known_makes_the_total_at_least() {
    let mut unknown = session();
    unknown[BLOCK_JUMP].landing = None;
    let found = contacts(&unknown);
    assert_eq!((found.events(), found.not_known), (145, 1));
    assert_eq!(beyond(100, &found).0, Outcome::Raised(Certainty::Certain));
    assert_eq!(beyond(150, &found).0, Outcome::Raised(Certainty::Possible));
}

#[test]
fn s14_distances() {
    let (length, not_measured) = distance(&session());
    assert_eq!((two(length.to_metres()), not_measured), ("295".into(), 0));
    let mut unmeasured = session();
    unmeasured[SHUTTLE].work = Work::Distance(None);
    let (length, not_measured) = distance(&unmeasured);
    assert_eq!((two(length.to_metres()), not_measured), ("160".into(), 1));
    // Bounds over twice 20 m tell no contacts.
    unmeasured[HURDLE_HOP] = Exercise {
        work: Work::Distance(Length::metres(20).ok()),
        ..jumps(2, 1, Landing::EachFoot)
    };
    let found = contacts(&unmeasured);
    assert_eq!((found.events(), found.not_known), (143, 1));
}

/// From Tuesday 8 September 19:00 to Thursday 10 September 17:30.
#[test]
fn s14_46_and_a_half_hours_since_the_last_session() {
    let limit = example_policy().rule(RuleCode::JumpGap).unwrap().limit;
    let (last_end, next_start) = (
        date(2026, 9, 8).at(19, 0, 0, 0),
        date(2026, 9, 10).at(17, 30, 0, 0),
    );
    let gap = next_start.duration_since(last_end).as_secs();
    let judged = jump_gap(limit, 0, gap);
    assert_eq!(judged.outcome, Outcome::Raised(Certainty::Certain));
    assert_eq!(two(judged.beyond), "1.5");
}
