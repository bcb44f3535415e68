//! Scenarios S04 and S05: figures with bounds, and figures that do not exist.
#![allow(clippy::unwrap_used)]

mod common;

use common::{
    athlete_week, au, example_policy, four, judged, known, last_day, loads, member, open,
    root_four, root_two, series, weeks,
};
use jiff::civil::date;
use plimsoll_domain::ratio::ratio;
use plimsoll_domain::{
    Bounds, Certainty, DailySeries, DayState, DayTotal, Divisor, Entry, Figure, FigureSettings,
    Load, Moments, NothingSaid, Outcome, RatioKind, Reason, Rpe, RuleCode, UsualRange,
    week_figures_of, weekly_list,
};

/// 14 expected sessions in three weeks of 1500, 1200 and 1600, one of the second week unlogged;
/// then a week with an unlogged practice and an unlogged game.
fn s04(wednesday: DayTotal, saturday: DayTotal) -> DailySeries {
    let earlier = [
        [300.0, 300.0, 300.0, 300.0, 0.0, 300.0, 0.0],
        [300.0, 300.0, 0.0, 300.0, 0.0, 300.0, 0.0],
        [400.0, 400.0, 0.0, 400.0, 0.0, 400.0, 0.0],
    ];
    let mut days: Vec<DayTotal> = earlier.as_flattened().iter().copied().map(known).collect();
    days[9] = open(0.0, 45.0);
    days.extend([
        known(540.0),
        known(225.0),
        wednesday,
        known(600.0),
        known(0.0),
        saturday,
    ]);
    days.push(known(300.0));
    member(date(2026, 10, 12), days)
}

fn ratio_bounds(series: &DailySeries) -> (String, String) {
    let ratio = last_day(series).ratio_coupled;
    (four(ratio.low.unwrap()), four(ratio.high.unwrap()))
}

fn listed(series: &DailySeries) -> Entry<()> {
    let policy = example_policy();
    let week = athlete_week(&policy, (), "P-03", series);
    weekly_list(Some(&policy), vec![week]).entries.remove(0)
}

/// The load of the week's missing sessions that makes the finding certain, and that rules it out.
fn settled_by(series: &DailySeries) -> [String; 2] {
    let settles = listed(series).missing[0].break_even.unwrap();
    [settles.certain_above, settles.ruled_out_up_to].map(|au| four(au.unwrap()))
}

/// Ratings whose tenth and ninetieth percentile are these.
fn usual(low: f64, high: f64) -> Option<UsualRange> {
    let middle = (low + high) / 2.0;
    let ratings = [[low; 3].as_slice(), &[middle; 5], &[high; 3]].concat();
    let ratings: Vec<Rpe> = ratings.iter().map(|r| Rpe::from_f64(*r).unwrap()).collect();
    UsualRange::of(&ratings)
}

#[test]
fn s04_which_entries_to_ask_for_and_the_usual_range() {
    let series = s04(open(0.0, 90.0), open(0.0, 60.0));
    let policy = example_policy();
    let mut week = athlete_week(&policy, (), "P-03", &series);
    // Home session, practice, game, in the order of their starts.
    for (one, usual) in
        week.open
            .iter_mut()
            .zip([usual(4.0, 6.0), usual(5.0, 7.0), usual(7.0, 9.0)])
    {
        one.usual = usual;
    }
    let entry = weekly_list(Some(&policy), vec![week]).entries.remove(0);
    let places: Vec<usize> = entry.missing.iter().map(|one| one.place).collect();
    assert_eq!(places, [1, 2, 0], "practice, game, home session");
    let settled: Vec<bool> = entry
        .missing
        .iter()
        .map(|one| one.break_even.is_some())
        .collect();
    assert_eq!(
        settled,
        [true, true, false],
        "the home session is of an earlier week"
    );
    let range = entry.usual.unwrap();
    assert_eq!(range.week_load, (au(2535.0), au(2835.0)));
    let (kind, low, high) = range.ratio.unwrap();
    assert_eq!(kind, RatioKind::Coupled);
    assert_eq!((four(low), four(high)), ("1.4272".into(), "1.5502".into()));
    assert_eq!(
        entry.sentence,
        "With 2 sessions unlogged, the week came to 1665 to 3165 AU, up to 585 AU above the club \
         limit of 2580 to 2850 AU; above 1185 AU in the missing sessions it is certain, up to 915 \
         AU it is ruled out."
    );
}

#[test]
fn without_ratings_of_every_kind_that_is_missing_there_is_no_usual_range() {
    let series = s04(open(0.0, 90.0), open(0.0, 60.0));
    assert_eq!(listed(&series).usual, None);
    assert_eq!(
        listed(&series).baseline,
        None,
        "nor a distance from her usual week"
    );
    let known = s04(known(720.0), known(540.0));
    let mut week = athlete_week(&example_policy(), (), "P-03", &known);
    week.open.clear();
    let list = weekly_list(Some(&example_policy()), vec![week]);
    assert_eq!(list.entries[0].usual, None, "nothing is open");
}

#[test]
fn s04_what_is_known() {
    let series = s04(open(0.0, 90.0), open(0.0, 60.0));
    let expected: u32 = series.days().iter().map(DayTotal::expected).sum();
    let unlogged: u32 = series.days().iter().map(DayTotal::unlogged).sum();
    assert_eq!((expected, unlogged), (20, 3));
    let week = week_figures_of(
        &series,
        &FigureSettings::default(),
        "2026-W45".parse().unwrap(),
    );
    let week = week.unwrap();
    assert_eq!((week.expected, week.unlogged), (6, 2));
    assert_eq!(week.days.known(NothingSaid::AssumedRest), 5);
    assert_eq!(week.days_28.known(NothingSaid::AssumedRest), 25);
    assert_eq!(week.days_28.of(DayState::Unlogged), 3);
    assert_eq!(week.days_28.total(), 28);
}

#[test]
fn s04_hard_bounds() {
    let day = last_day(&s04(open(0.0, 90.0), open(0.0, 60.0)));
    let (low, point, high) = (Some(au(1665.0)), Some(au(1665.0)), Some(au(3165.0)));
    assert_eq!(
        day.acute_7d,
        Figure {
            low,
            point,
            high,
            reason: None
        }
    );
    assert_eq!(four(day.ratio_coupled.point.unwrap()), "1.1165");
    assert_eq!(four(day.ratio_coupled.low.unwrap()), "1.0382");
    assert_eq!(four(day.ratio_coupled.high.unwrap()), "1.6959");
    let monotony = day.monotony.sample;
    assert_eq!(root_four(monotony.point.unwrap()), "0.9256");
    assert_eq!(root_four(monotony.low.unwrap()), "0.9256");
    assert_eq!(root_four(monotony.high.unwrap()), "1.7723");
    let strain = day.strain.sample;
    assert!((strain.low.unwrap().to_f64() - 1541.2).abs() < 0.05);
    assert!((strain.high.unwrap().to_f64() - 5609.3).abs() < 0.05);
}

#[test]
fn s04_certainty_and_what_would_settle_it() {
    let both_open = s04(open(0.0, 90.0), open(0.0, 60.0));
    let judgement = judged(&both_open, RuleCode::WeekEndRatio);
    assert_eq!(judgement.outcome, Outcome::Raised(Certainty::Possible));
    let limit = judgement.limit_au.unwrap();
    assert_eq!(
        (four(limit.low), four(limit.high)),
        ("2580".into(), "2850".into())
    );
    assert_eq!(settled_by(&both_open), ["1185", "915"]);

    let wednesday_logged = s04(known(720.0), open(0.0, 60.0));
    assert_eq!(
        ratio_bounds(&wednesday_logged),
        ("1.3371".into(), "1.639".into())
    );
    let judgement = judged(&wednesday_logged, RuleCode::WeekEndRatio);
    assert_eq!(judgement.outcome, Outcome::Raised(Certainty::Possible));
    assert_eq!(settled_by(&wednesday_logged), ["465", "195"]);

    let both_logged = s04(known(720.0), known(540.0));
    assert_eq!(last_day(&both_logged).acute_7d, Figure::exact(au(2925.0)));
    assert_eq!(
        ratio_bounds(&both_logged),
        ("1.5244".into(), "1.6194".into())
    );
    let judgement = judged(&both_logged, RuleCode::WeekEndRatio);
    assert_eq!(judgement.outcome, Outcome::Raised(Certainty::Certain));
    assert!(listed(&both_logged).missing.is_empty());
}

#[test]
fn s05_seven_equal_days_and_seven_zeros() {
    let equal = series(date(2026, 9, 7), &[300.0; 7]);
    let day = last_day(&equal);
    assert_eq!(day.acute_7d.point, Some(au(2100.0)));
    let sd = Moments::of(loads(&[300.0; 7]))
        .standard_deviation(Divisor::Sample)
        .unwrap();
    assert_eq!(root_four(sd), "0");
    assert_eq!(day.monotony.sample, Figure::none(Reason::NoVariation));
    assert_eq!(day.strain.population, Figure::none(Reason::NoVariation));
    let judgement = judged(&equal, RuleCode::WeekMonotony);
    assert_eq!(judgement.outcome, Outcome::Raised(Certainty::Certain));
    assert_eq!(
        judgement.monotony.unwrap().reason,
        Some(Reason::NoVariation)
    );

    let zeros = series(date(2026, 9, 7), &[0.0; 28]);
    let day = last_day(&zeros);
    assert_eq!(day.monotony.sample, Figure::none(Reason::NoLoad));
    assert_eq!(day.strain.sample, Figure::none(Reason::NoLoad));
    assert_eq!(day.ratio_coupled, Figure::none(Reason::NoLoadInWindow));
    assert_eq!(day.ratio_uncoupled, Figure::none(Reason::NoLoadInWindow));
    assert_eq!(
        judged(&zeros, RuleCode::WeekMonotony).outcome,
        Outcome::NotRaised
    );
}

#[test]
fn s05_one_session_in_the_week() {
    let day = last_day(&series(
        date(2026, 9, 7),
        &[0.0, 0.0, 420.0, 0.0, 0.0, 0.0, 0.0],
    ));
    assert_eq!(root_four(day.monotony.sample.point.unwrap()), "0.378");
    assert_eq!(root_four(day.monotony.population.point.unwrap()), "0.4082");
    assert_eq!(root_two(day.strain.sample.point.unwrap()), "158.75");
}

#[test]
fn s05_ratios_that_do_not_exist_or_are_withheld() {
    let after = |prior: f64| last_day(&member(date(2026, 9, 7), weeks(&[0.0, 0.0, prior, 420.0])));
    let nothing_before = after(0.0);
    assert_eq!(
        nothing_before.ratio_uncoupled,
        Figure::none(Reason::NoPriorLoad)
    );
    assert_eq!(
        nothing_before.ratio_coupled,
        Figure::none(Reason::BelowChronicFloor)
    );

    let little_before = after(90.0);
    assert_eq!(
        little_before.ratio_coupled,
        Figure::none(Reason::BelowChronicFloor)
    );
    assert_eq!(
        little_before.ratio_uncoupled,
        Figure::none(Reason::BelowChronicFloor)
    );
    assert_eq!(little_before.acute_7d.point, Some(au(420.0)));
    assert_eq!(
        little_before
            .change_from_previous_7d
            .au
            .point
            .unwrap()
            .to_au(),
        330.0
    );
    assert_eq!(four(little_before.chronic_week.unwrap().coupled), "127.5");
    assert_eq!(four(little_before.chronic_week.unwrap().uncoupled), "30");

    let without_floor = |kind| {
        let (acute, prior) = (Bounds::exact(au(420.0)), Bounds::exact(au(90.0)));
        four(ratio(kind, acute, prior, Load::ZERO).point.unwrap())
    };
    assert_eq!(without_floor(RatioKind::Coupled), "3.2941");
    assert_eq!(without_floor(RatioKind::Uncoupled), "14");
}
