use jiff::ToSpan;
use jiff::civil::date;
use proptest::prelude::*;

use super::*;

const MONDAY: Date = date(2026, 11, 2);

fn session(id: u8, day: i64, hour: i8, rpe: f64, minutes: i64) -> Shortenable<u8> {
    Shortenable {
        id,
        start: MONDAY.saturating_add(day.days()).at(hour, 0, 0, 0),
        intended: Rpe::from_f64(rpe).unwrap(),
        minutes: Minutes::new(minutes).unwrap(),
        least: None,
    }
}

fn by(day: i64, au: i64) -> CutBy {
    CutBy {
        date: MONDAY.saturating_add(day.days()),
        au: Fraction::whole(au),
    }
}

/// Total, and id with the minutes given.
fn found(sessions: &[Shortenable<u8>], needs: &[CutBy]) -> Option<(f64, Vec<(u8, u16)>)> {
    let change = least_change(sessions, needs)?;
    let given = change.sessions.iter().map(|one| (one.id, one.cut_minutes));
    Some((change.total.to_au(), given.collect()))
}

/// Strength of 60 minutes at 5 and practice of 90 at 6; 390 = 13 x 30, or 6 x 25 + 8 x 30, or 12 x 25 + 3
/// x 30.
#[test]
fn s11_practice_gives_65_minutes() {
    let sessions = [session(1, 1, 18, 5.0, 60), session(2, 3, 18, 6.0, 90)];
    let change = least_change(&sessions, &[by(6, 390)]).unwrap();
    assert_eq!(change.total.to_au(), 390.0);
    let practice = Shortened {
        id: 2,
        cut_minutes: 65,
        kept_minutes: 25,
    };
    assert_eq!(change.sessions, [practice]);
}

/// Strength of 60 minutes at 5 alone gives 300 of 390; what comes after a date is no help by then.
#[test]
fn s11_what_cannot_be_cut_is_short() {
    let strength = session(1, 3, 18, 5.0, 60);
    let short = |needs: &[CutBy]| short_by(std::slice::from_ref(&strength), needs);
    assert_eq!(short(&[by(6, 390)]), Fraction::whole(90));
    assert_eq!(short(&[by(2, 100), by(6, 390)]), Fraction::whole(100));
    assert_eq!(short(&[by(6, 300)]), Fraction::ZERO);
    assert_eq!(short(&[]), Fraction::ZERO);
}

#[test]
fn the_later_session_is_changed_then_the_lower_id() {
    let early = session(1, 0, 18, 5.0, 60);
    let (late, also_late) = (session(3, 2, 18, 5.0, 60), session(2, 2, 18, 5.0, 60));
    let sessions = [late, early, also_late];
    assert_eq!(
        found(&sessions, &[by(6, 100)]),
        Some((100.0, vec![(2, 20)]))
    );
    assert_eq!(
        found(&sessions, &[by(1, 100)]),
        Some((100.0, vec![(1, 20)]))
    );
    // Two sessions of three: the two late ones, and more from the one that counts as later.
    assert_eq!(
        found(&sessions, &[by(6, 400)]),
        Some((400.0, vec![(3, 20), (2, 60)]))
    );
}

#[test]
fn each_day_has_its_own_need() {
    // Monday's steps are 40 AU, Wednesday's 25.
    let sessions = [session(1, 0, 18, 8.0, 60), session(2, 2, 18, 5.0, 60)];
    assert_eq!(found(&sessions, &[by(2, 75)]), Some((75.0, vec![(2, 15)])));
    // 50 by Monday takes 80, which is enough on Wednesday.
    let needs = [by(0, 50), by(2, 75)];
    assert_eq!(found(&sessions, &needs), Some((80.0, vec![(1, 10)])));
}

#[test]
fn a_least_length_is_kept_and_without_one_all_may_go() {
    let odd = session(1, 0, 18, 5.0, 47);
    assert_eq!(
        found(std::slice::from_ref(&odd), &[by(0, 235)]),
        Some((235.0, vec![(1, 47)]))
    );
    assert_eq!(found(std::slice::from_ref(&odd), &[by(0, 236)]), None);
    let kept = Shortenable {
        least: Minutes::new(30).ok(),
        ..odd
    };
    assert_eq!(
        found(std::slice::from_ref(&kept), &[by(0, 75)]),
        Some((75.0, vec![(1, 15)]))
    );
    assert_eq!(found(&[kept], &[by(0, 76)]), None);
}

#[test]
fn without_a_need_nothing_changes() {
    let sessions = [session(1, 0, 18, 5.0, 60)];
    assert_eq!(found(&sessions, &[]), Some((0.0, Vec::new())));
    assert_eq!(found(&sessions, &[by(0, -5)]), Some((0.0, Vec::new())));
    assert_eq!(found(&[], &[by(0, 1)]), None);
    // A third of an AU is met by half an AU.
    let third = CutBy {
        date: MONDAY,
        au: Fraction::new(1, 3).unwrap(),
    };
    let light = session(1, 0, 18, 0.5, 1);
    assert_eq!(found(&[light], &[third]), Some((0.5, vec![(1, 1)])));
}

/// 21 sessions in a week with many equal sums.
#[test]
fn a_full_week_is_no_matter() {
    let week = (0..21_u8).map(|id| session(id, i64::from(id) / 3, 16, 4.5, 90));
    let sessions: Vec<_> = week.collect();
    let (total, given) = found(&sessions, &[by(3, 1500), by(6, 4001)]).unwrap();
    assert_eq!(total, 4005.0);
    assert_eq!(given.len(), 10);
}

fn weeks() -> impl Strategy<Value = (Vec<Shortenable<u8>>, Vec<CutBy>)> {
    let one = (
        0..7_i64,
        16..18_i8,
        1..=20_u8,
        1..=25_i64,
        prop::option::of(1..=25_i64),
    );
    let sessions = prop::collection::vec(one, 1..=4).prop_map(|drawn| {
        let make = |(id, (day, hour, half_steps, minutes, least)): (u8, (i64, i8, u8, i64, _))| {
            Shortenable {
                intended: Rpe::from_half_steps(half_steps).unwrap(),
                least: Option::<i64>::map(least, |least| Minutes::new(least).unwrap()),
                ..session(id, day, hour, 0.0, minutes)
            }
        };
        (0..).zip(drawn).map(make).collect()
    });
    let need = (0..7_i64, -50..1200_i64, 1..=4_i64).prop_map(|(day, num, den)| CutBy {
        au: Fraction::new(num, den).unwrap(),
        ..by(day, 0)
    });
    (sessions, prop::collection::vec(need, 1..=3))
}

type Choice = Vec<(Shortenable<u8>, u16)>;

fn every_choice(sessions: &[Shortenable<u8>]) -> Vec<Choice> {
    sessions.iter().fold(vec![Vec::new()], |choices, session| {
        let with = |choice: &Choice| -> Vec<Choice> {
            let least = session.least.map_or(0, Minutes::get);
            let gives = |cut: &u16| {
                let left = session.minutes.get() - cut;
                let dropped = left == 0 && session.least.is_none();
                dropped || (cut.is_multiple_of(5) && (left >= least || *cut == 0))
            };
            let cuts = (0..=session.minutes.get()).filter(gives);
            cuts.map(|cut| [&choice[..], &[(session.clone(), cut)]].concat())
                .collect()
        };
        choices.iter().flat_map(with).collect()
    })
}

fn half_au_until(choice: &Choice, date: Date) -> i64 {
    let until = choice
        .iter()
        .filter(|(session, _)| session.start.date() <= date);
    until
        .map(|(session, cut)| i64::from(session.intended.half_steps()) * i64::from(*cut))
        .sum()
}

fn meets(choice: &Choice, needs: &[CutBy]) -> bool {
    let met = |need: &CutBy| Fraction::new(half_au_until(choice, need.date), 2) >= Some(need.au);
    needs.iter().all(met)
}

/// A session changed, ordered so that the later one is smaller, then the lower id.
type Changed = Reverse<(DateTime, Reverse<u8>)>;

/// Smaller is better: the order as it is told, on whole choices.
fn rank(choice: &Choice) -> (i64, usize, Vec<Changed>, Vec<Reverse<u16>>) {
    let mut changed: Vec<_> = choice.iter().filter(|(_, cut)| *cut > 0).collect();
    changed.sort_by_key(|(session, _)| Reverse((session.start, Reverse(session.id))));
    (
        half_au_until(choice, Date::MAX),
        changed.len(),
        changed
            .iter()
            .map(|(session, _)| Reverse((session.start, Reverse(session.id))))
            .collect(),
        changed.iter().map(|(_, cut)| Reverse(*cut)).collect(),
    )
}

/// Going on from day to day and taking from the latest session what is short on the day.
fn forward(sessions: &[Shortenable<u8>], needs: &[CutBy]) -> Option<i64> {
    let mut needs = needs.to_vec();
    needs.sort_by_key(|need| need.date);
    let mut choice: Choice = sessions
        .iter()
        .map(|session| (session.clone(), 0))
        .collect();
    choice.sort_by_key(|(session, _)| Reverse(session.start));
    for need in &needs {
        while !meets(&choice, std::slice::from_ref(need)) {
            let next = |(session, cut): &(Shortenable<u8>, u16)| {
                let until = session.start.date() <= need.date;
                let larger = session.cuts().into_iter().find(|larger| larger > cut);
                larger.filter(|_| until)
            };
            let (at, larger) = (0..)
                .zip(&choice)
                .find_map(|(at, one)| Some((at, next(one)?)))?;
            choice[usize::try_from(at).ok()?].1 = larger;
        }
    }
    Some(half_au_until(&choice, Date::MAX))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn is_the_best_of_every_choice((sessions, needs) in weeks()) {
        let choices = every_choice(&sessions).into_iter();
        let best = choices.filter(|choice| meets(choice, &needs)).min_by_key(rank);
        let expected = best.map(|choice| {
            let mut changed: Vec<_> = choice.iter().filter(|(_, cut)| *cut > 0).collect();
            changed.sort_by_key(|(session, _)| (session.start, Reverse(session.id)));
            let given = changed.iter().map(|(session, cut)| (session.id, *cut)).collect();
            (half_au_until(&choice, Date::MAX) as f64 / 2.0, given)
        });
        prop_assert_eq!(found(&sessions, &needs), expected);
    }

    #[test]
    fn nothing_is_short_exactly_where_some_choice_does((sessions, needs) in weeks()) {
        let short = short_by(&sessions, &needs);
        prop_assert_eq!(short == Fraction::ZERO, found(&sessions, &needs).is_some(), "{:?}", short);
    }

    #[test]
    fn is_never_worse_than_going_forward_day_by_day((sessions, needs) in weeks()) {
        let least = least_change(&sessions, &needs).map(|change| change.total.half_au());
        match (least, forward(&sessions, &needs)) {
            (Some(least), Some(forward)) => prop_assert!(least <= forward),
            (least, forward) => prop_assert_eq!(least, forward),
        }
    }
}
