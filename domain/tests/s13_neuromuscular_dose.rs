//! S13, the dose of neuromuscular warm-up of a squad and of one athlete in four weeks before the season.
#![allow(clippy::unwrap_used)]

mod common;

use common::{example_policy, two};
use plimsoll_domain::neuromuscular::ExerciseCategory::{self, Agility, Balance, Jump, Strength};
use plimsoll_domain::neuromuscular::{
    Dose, LeastDose, Met, SeasonDose, WarmUp, WarmUpMinutes, WeekWarmUps,
};
use plimsoll_domain::{Certainty, Outcome};

const CATEGORIES: [&[ExerciseCategory]; 4] = [
    &[Strength, Balance],
    &[Strength, Jump, Agility],
    &[Strength, Jump, Balance, Agility],
    &[Jump, Balance],
];

fn least() -> LeastDose {
    example_policy()
        .rules
        .iter()
        .find_map(LeastDose::of)
        .unwrap()
}

fn weeks(minutes: [&[i64]; 4]) -> [Vec<WarmUp>; 4] {
    let mut categories = CATEGORIES.iter();
    minutes.map(|week| {
        let held = categories.next().unwrap();
        let warm_up = |minutes: &i64| {
            let minutes = WarmUpMinutes::new(*minutes).unwrap();
            WarmUp::new(minutes, held.iter().copied().collect(), true).unwrap()
        };
        week.iter().map(warm_up).collect()
    })
}

/// Sessions and minutes, then what is short: sessions, minutes, categories.
fn row(week: &[WarmUp]) -> String {
    let dose = Dose::of(week);
    let short = least().short(&dose);
    let minutes = two(short.minutes);
    format!(
        "{}/{} {} {minutes} {} dose {} all {}",
        dose.sessions,
        dose.minutes,
        short.sessions,
        short.categories,
        if short.meets_dose() { "yes" } else { "no" },
        if short.is_complete() { "yes" } else { "no" },
    )
}

#[test]
fn s13_squad() {
    let rows = weeks([&[15, 15, 20], &[20, 10], &[25], &[12, 12]]).map(|week| row(&week));
    assert_eq!(
        rows,
        [
            "3/50 0 0 1 dose yes all no",
            "2/30 0 0 0 dose yes all yes",
            "1/25 1 5 0 dose no all no",
            "2/24 0 6 1 dose no all no",
        ]
    );
}

/// What counts is where she was, not what was held.
#[test]
fn s13_one_athlete() {
    let weeks = weeks([&[15, 20], &[20, 10], &[25], &[12]]);
    assert_eq!(
        weeks.each_ref().map(|week| row(week)),
        [
            "2/35 0 0 1 dose yes all no",
            "2/30 0 0 0 dose yes all yes",
            "1/25 1 5 0 dose no all no",
            "1/12 1 18 1 dose no all no",
        ]
    );
    let weeks = weeks.map(|attended| WeekWarmUps {
        attended,
        ..WeekWarmUps::default()
    });
    let judged = weeks.each_ref().map(|week| least().judge(week, true));
    let certain = Outcome::Raised(Certainty::Certain);
    assert_eq!(judged, [certain, Outcome::NotRaised, certain, certain]);
    let met = weeks.map(|week| least().parts(&week).all());
    assert_eq!(met, [Met::No, Met::Yes, Met::No, Met::No]);
    let season = SeasonDose::of(&met, (None, None), None);
    assert_eq!((season.weeks_met, season.weeks_expected), (1, 4));
}
