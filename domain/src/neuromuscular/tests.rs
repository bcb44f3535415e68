use jiff::civil::date;

use super::ExerciseCategory::{Agility, Balance, Jump, Strength};
use super::*;
use crate::policy::PolicyDraft;

fn least() -> LeastDose {
    let draft = PolicyDraft::example(date(2026, 8, 3), "Policy owner");
    draft.rules.iter().find_map(LeastDose::of).unwrap()
}

fn warm_up(minutes: i64, categories: &[ExerciseCategory], feedback: bool) -> WarmUp {
    let minutes = WarmUpMinutes::new(minutes).unwrap();
    WarmUp::new(minutes, categories.iter().copied().collect(), feedback).unwrap()
}

#[test]
fn each_part_is_told() {
    let short = |warm_ups: &[WarmUp]| least().short(&Dose::of(warm_ups));
    let nothing = short(&[]);
    assert_eq!(
        (nothing.sessions, nothing.minutes),
        (2, Fraction::whole(30))
    );
    assert_eq!((nothing.categories, nothing.feedback), (3, true));
    let two = [
        warm_up(15, &[Jump, Balance], false),
        warm_up(15, &[Agility], true),
    ];
    assert!(
        short(&two).is_complete(),
        "30 minutes are enough, together they hold three"
    );
    let silent = [
        warm_up(20, &[Jump, Balance, Agility], false),
        warm_up(20, &[Jump], false),
    ];
    assert!(short(&silent).meets_dose() && !short(&silent).is_complete());
}

#[test]
fn what_is_not_known_leaves_it_open() {
    let held = warm_up(15, &[Strength, Jump, Agility], true);
    let judge = |attended: usize, not_known: usize, not_said| {
        let week = WeekWarmUps {
            attended: vec![held.clone(); attended],
            not_known: vec![held.clone(); not_known],
            not_said,
        };
        least().judge(&week, true)
    };
    assert_eq!(judge(2, 0, 0), Outcome::NotRaised);
    assert_eq!(judge(1, 1, 0), Outcome::Raised(Certainty::Possible));
    assert_eq!(judge(1, 0, 0), Outcome::Raised(Certainty::Certain));
    assert_eq!(judge(1, 0, 1), Outcome::Raised(Certainty::Possible));
    assert_eq!(judge(2, 3, 4), Outcome::NotRaised);
}

#[test]
fn a_week_in_which_nothing_was_expected_is_not_short() {
    let held = warm_up(15, &[Strength, Jump, Agility], true);
    for attended in 0..3 {
        let week = WeekWarmUps {
            attended: vec![held.clone(); attended],
            ..WeekWarmUps::default()
        };
        assert_eq!(
            least().judge(&week, false),
            Outcome::NotComputable(Reason::NothingExpected)
        );
    }
}

#[test]
fn each_part_is_judged_by_itself() {
    let week = WeekWarmUps {
        attended: vec![warm_up(15, &[Jump], true)],
        not_known: vec![warm_up(15, &[Balance], false)],
        not_said: 0,
    };
    let parts = least().parts(&week);
    let expected = DoseParts {
        sessions: Met::NotKnown,
        minutes: Met::NotKnown,
        categories: Met::No,
        feedback: Met::Yes,
    };
    assert_eq!(parts, expected);
    assert_eq!((parts.dose(), parts.all()), (Met::NotKnown, Met::No));
}

#[test]
fn a_session_without_one_adds_nothing() {
    let none = |categories: &[ExerciseCategory], feedback| {
        let minutes = WarmUpMinutes::new(0).unwrap();
        WarmUp::new(minutes, categories.iter().copied().collect(), feedback)
    };
    assert_eq!(Dose::of(&[none(&[], false).unwrap()]), Dose::default());
    for held in [none(&[Jump], false), none(&[], true)] {
        assert_eq!(held, Err(WarmUpError::NothingHeld));
    }
    for minutes in [-1, 601] {
        assert_eq!(WarmUpMinutes::new(minutes), Err(WarmUpError::Minutes));
    }
}

#[test]
fn a_season_tells_weeks_and_whether_it_began_in_time() {
    let weeks = [Met::Yes, Met::No, Met::Yes, Met::NotKnown];
    let game = date(2026, 9, 14);
    let of = |began| SeasonDose::of(&weeks, began, Some(game));
    let (early, late) = (Some(date(2026, 8, 3)), Some(date(2026, 8, 4)));
    let season = of((early, None));
    let counted = (
        season.weeks_met,
        season.weeks_not_known,
        season.weeks_expected,
    );
    assert_eq!(counted, (2, 1, 4));
    assert_eq!(season.began_in_time, Some(true), "42 days before");
    assert_eq!(of((late, None)).began_in_time, Some(false));
    assert_eq!(of((late, early)).began_in_time, None);
    assert_eq!(of((None, late)).began_in_time, None);
    assert_eq!(
        SeasonDose::of(&weeks, (early, None), None).began_in_time,
        None
    );
}

#[test]
fn no_other_rule_sets_a_least_dose() {
    let draft = PolicyDraft::example(date(2026, 8, 3), "Policy owner");
    assert_eq!(draft.rules.iter().filter_map(LeastDose::of).count(), 1);
    assert_eq!(least().minutes, Decimal::hundredths(3000));
}
