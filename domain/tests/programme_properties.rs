//! Whatever is entered: ways that are walked back end where they began, changes change what they name, and landings add up.
#![allow(clippy::unwrap_used)]

use jiff::civil::Weekday;
use plimsoll_domain::contacts::{Contacts, Reps, Sets};
use plimsoll_domain::exercises::{Catalogue, ExerciseCode};
use plimsoll_domain::measure::LengthUnit;
use plimsoll_domain::programme::{
    Amount, Block, Change, Changes, Day, Direction, Dose, Extent, Item, Leg, Legs, Place,
    Programme, Session, Week, WorkSeconds, session_jumps, week_jumps,
};
use plimsoll_domain::{Kind, Minutes, Rpe, Setting};
use proptest::prelude::*;

fn unit() -> impl Strategy<Value = LengthUnit> {
    prop::sample::select(LengthUnit::ALL)
}

fn legs() -> impl Strategy<Value = Vec<Leg>> {
    let direction = prop::sample::select(Direction::ALL);
    let leg = (direction, 1..=10_000_u16).prop_map(|(direction, count)| Leg { direction, count });
    prop::collection::vec(leg, 1..25)
}

const fn opposite(direction: Direction) -> Direction {
    match direction {
        Direction::Forward => Direction::Back,
        Direction::Back => Direction::Forward,
        Direction::Left => Direction::Right,
        Direction::Right => Direction::Left,
    }
}

fn item() -> impl Strategy<Value = Item> {
    let codes: Vec<ExerciseCode> = Catalogue::of([])
        .exercises()
        .map(|one| one.code.clone())
        .collect();
    let dose = prop_oneof![
        (1..=50_i64).prop_map(|reps| Dose::Reps(Reps::new(reps).unwrap(), None)),
        (5..=300_i64).prop_map(|seconds| Dose::Seconds(WorkSeconds::new(seconds).unwrap())),
        (legs(), unit())
            .prop_map(|(legs, unit)| Dose::Distance(Legs::new(legs, unit, false).unwrap())),
    ];
    (prop::sample::select(codes), 1..=10_i64, dose).prop_map(|(exercise, sets, dose)| Item {
        exercise,
        sets: Sets::new(sets).unwrap(),
        dose,
        side: None,
        against: None,
        rest: None,
        set_up: None,
        height: None,
        note: None,
    })
}

fn programme() -> impl Strategy<Value = Programme> {
    let session = prop::collection::vec(item(), 1..6).prop_map(|items| Session {
        name: None,
        setting: Setting::PrescribedHome,
        kind: Kind::Strength,
        start: None,
        minutes: Minutes::new(45).ok(),
        intended: Rpe::from_half_steps(10).ok(),
        warm_up: None,
        items,
    });
    let week = prop::collection::vec(session, 1..=3).prop_map(|sessions| {
        Week::new(vec![Day::new(Weekday::Tuesday, sessions).unwrap()]).unwrap()
    });
    prop::collection::vec(week, 1..5).prop_map(|weeks| {
        let block = Block::new("one".to_owned(), weeks).unwrap();
        Programme::new("some".to_owned(), vec![block]).unwrap()
    })
}

fn sum(parts: impl Iterator<Item = Contacts>) -> Contacts {
    parts.fold(Contacts::default(), |all, part| all + part)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_way_walked_back_ends_where_it_began(out in legs(), unit in unit()) {
        let way = Legs::new(out.clone(), unit, false).unwrap();
        let back = out.iter().rev().map(|leg| Leg { direction: opposite(leg.direction), ..*leg });
        let both: Vec<Leg> = out.iter().copied().chain(back).collect();
        let both = Legs::new(both, unit, true).unwrap();
        prop_assert_eq!(both.length(), [way.length(), way.length()].into_iter().sum());
        prop_assert_eq!(Legs::new(out, unit, true).is_ok(), way.net() == (0, 0));
    }

    #[test]
    fn an_extent_is_as_long_in_any_unit(hundredths in 1..=8000_i32) {
        let amount = |hundredths| Amount::new(plimsoll_domain::Decimal::hundredths(hundredths)).unwrap();
        let feet = Extent::new(amount(hundredths), None, LengthUnit::Foot).unwrap();
        let inches = Extent::new(amount(12 * hundredths), None, LengthUnit::Inch).unwrap();
        prop_assert_eq!(feet.to_metres(), inches.to_metres());
        prop_assert_eq!(feet.least().to_string().parse().map(Amount::new), Ok(Ok(amount(hundredths))));
    }

    #[test]
    fn landings_of_weeks_are_those_of_their_sessions(programme in programme()) {
        let sessions = session_jumps(&programme, &Catalogue::of([]));
        let weeks = week_jumps(&sessions);
        prop_assert_eq!(sum(weeks.into_values()), sum(sessions.iter().map(|one| one.contacts)));
        for one in &sessions {
            let since = one.since_jumps.into_iter();
            prop_assert!(since.into_iter().all(|since| 0 <= since.low && since.low <= since.high));
        }
    }

    #[test]
    fn only_what_a_change_names_is_changed(programme in programme(), other in item(), at in any::<prop::sample::Index>()) {
        let none = Changes::default();
        let places: Vec<Place> =
            programme.sessions().flat_map(|one| none.items(&one)).map(|item| item.place).collect();
        let place = *at.get(&places);
        let put = Changes::of(&programme, vec![(place, Change::Put(other.clone()))]).unwrap();
        let left_out = Changes::of(&programme, vec![(place, Change::Omit)]).unwrap();
        for session in programme.sessions() {
            for (hers, plain) in put.items(&session).iter().zip(none.items(&session)) {
                prop_assert_eq!(hers.changed, hers.place == place);
                prop_assert_eq!(hers.item, if hers.changed { &other } else { plain.item });
            }
            let kept: Vec<Place> = left_out.items(&session).iter().map(|item| item.place).collect();
            let all = none.items(&session).into_iter().map(|item| item.place);
            prop_assert_eq!(kept, all.filter(|one| *one != place).collect::<Vec<_>>());
        }
    }
}
