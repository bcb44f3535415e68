use jiff::civil::date;

use super::*;
use crate::day_state::{Absence, DayFacts};
use crate::limited_span::{ClinicianLimit, LimitedSpan};

const ABSENCE: (Date, Date) = (date(2026, 10, 5), date(2026, 11, 8));

/// Weeks of one session each from 7 September 2026, the absence as given.
fn series(weeks: &[u16], away: (Date, Date)) -> DailySeries {
    series_with(weeks, &[away])
}

fn series_with(weeks: &[u16], away: &[(Date, Date)]) -> DailySeries {
    let first = date(2026, 9, 7);
    let mut days = Vec::new();
    for (at, load) in weeks
        .iter()
        .flat_map(|week| [*week, 0, 0, 0, 0, 0, 0])
        .enumerate()
    {
        let day = after(first, i64::try_from(at).unwrap());
        let held = away.iter().find(|(from, to)| (*from..=*to).contains(&day));
        let absence = held.map_or(Absence::None, |span| Absence::of_days(length(*span)));
        let load = Bounds::exact(Load::from_au(load));
        let facts = DayFacts {
            absence,
            rest_declared: load.point == Load::ZERO,
            sessions: u32::from(load.point > Load::ZERO),
            ..DayFacts::default()
        };
        days.push(DayTotal::new(facts, load, 0).unwrap());
    }
    DailySeries::new(first, first, days).unwrap()
}

fn ramp_of(series: &DailySeries) -> Ramp {
    ramp_after(series, ABSENCE, &FigureSettings::default()).unwrap()
}

fn weeks_of(series: &DailySeries) -> Vec<RampWeek> {
    ramp_of(series).weeks(series, Date::MAX)
}

fn returning_in(series: &DailySeries, week: &str) -> Option<Result<Returning, Reason>> {
    returning(series, week.parse().unwrap(), &FigureSettings::default())
}

fn au(values: impl Iterator<Item = Fraction>) -> Vec<f64> {
    values.map(Fraction::to_f64).collect()
}

const BEFORE: [u16; 4] = [2100, 2300, 2200, 2400];
const AWAY: [u16; 5] = [0; 5];

#[test]
fn s16_ceilings_after_an_absence() {
    let series = series(
        &[&BEFORE[..], &AWAY, &[900, 1500, 1750, 2000]].concat(),
        ABSENCE,
    );
    let ramp = ramp_of(&series);
    assert_eq!((ramp.before_au.to_f64(), ramp.weeks_used), (2250.0, 4));
    assert_eq!(
        au(ramp.ceilings_au()),
        [1125.0, 1575.0, 1800.0, 2025.0, 2250.0]
    );
    let weeks = ramp.weeks(&series, Date::MAX);
    assert_eq!(weeks.len(), 4);
    assert!(weeks.iter().all(|week| !week.is_breach()));
}

#[test]
fn s16_the_plan_is_over_in_two_weeks_each_judged_at_its_own_step() {
    let ramp = ramp_of(&series(&[&BEFORE[..], &AWAY].concat(), ABSENCE));
    let planned = [900, 1600, 1750, 2100, 2250].map(Fraction::whole);
    let over = ramp
        .ceilings_au()
        .zip(planned)
        .map(|(ceiling, plan)| plan.less(ceiling));
    assert_eq!(au(over), [-225.0, 25.0, -50.0, 75.0, 0.0]);
}

#[test]
fn a_breach_repeats_the_step() {
    let done = [900, 1600, 1570, 1800, 2025, 2250, 9999];
    let series = series(&[&BEFORE[..], &AWAY, &done].concat(), ABSENCE);
    let weeks = weeks_of(&series);
    assert_eq!(
        weeks.iter().map(|week| week.step).collect::<Vec<_>>(),
        [1, 2, 2, 3, 4, 5]
    );
    assert_eq!(weeks[1].over_by_au().to_f64(), 25.0);
}

fn limited(from: Date, until: Option<Date>, limit: ClinicianLimit) -> Vec<LimitedSpan> {
    vec![LimitedSpan { from, until, limit }]
}

#[test]
fn s16_a_clinicians_limit_is_the_ceiling_where_it_is_lower() {
    let done = [900, 1500, 1500, 1750];
    let series = series(&[&BEFORE[..], &AWAY, &done].concat(), ABSENCE);
    let second = date(2026, 11, 16);
    let limit = ClinicianLimit::Week(Load::from_au(1400));
    let series = series.with_limits(limited(second, Some(date(2026, 11, 22)), limit));
    let weeks = weeks_of(&series);
    assert_eq!(
        au(weeks.iter().map(|week| week.ceiling_au.point)),
        [1125.0, 1400.0, 1575.0, 1800.0]
    );
    let bindings = weeks.iter().map(|week| week.binding);
    let policy = Binding::Policy;
    assert!(bindings.eq([policy, Binding::Clinician, policy, policy]));
    assert_eq!(weeks[1].over_by_au().to_f64(), 100.0);
    assert!(weeks[1].is_breach() && !weeks[0].is_breach());
    assert_eq!(
        weeks.iter().map(|week| week.step).collect::<Vec<_>>(),
        [1, 2, 2, 3]
    );
    let (_, running) = returning_on(&series, date(2026, 11, 18), &FigureSettings::default())
        .unwrap()
        .unwrap();
    assert_eq!(
        (running.ceiling_au, running.binding),
        (Bounds::exact(Fraction::whole(1400)), Binding::Clinician)
    );
}

#[test]
fn a_clinicians_limit_above_the_ceiling_changes_nothing() {
    let series = series(&[&BEFORE[..], &AWAY, &[900, 1500]].concat(), ABSENCE);
    let unlimited = weeks_of(&series);
    let limit = ClinicianLimit::Week(Load::from_au(1575));
    let limited = series.with_limits(limited(date(2026, 11, 9), None, limit));
    assert_eq!(
        weeks_of(&limited)[1],
        unlimited[1],
        "one that is as high does not bind"
    );
    assert_eq!(weeks_of(&limited)[0], unlimited[0]);
}

#[test]
fn while_a_written_clearance_is_waited_for_there_is_no_ceiling() {
    let done = [900, 1500, 0, 0, 1700, 1700];
    let series = series(&[&BEFORE[..], &AWAY, &done].concat(), ABSENCE);
    let (from, until) = (date(2026, 11, 18), date(2026, 12, 6));
    let held = limited(from, Some(until), ClinicianLimit::UntilCleared);
    let series = series.with_limits(held);
    for week in ["2026-W47", "2026-W48", "2026-W49"] {
        assert_eq!(returning_in(&series, week), None, "{week}");
    }
    let on = |date| returning_on(&series, date, &FigureSettings::default());
    assert_eq!((on(from), on(until)), (None, None));
    // Nineteen days without: the ramp restarts below, with the first load.
    let restarted = returning_in(&series, "2026-W50").unwrap().unwrap();
    assert_eq!(
        (restarted.ramp.absence, restarted.week.step),
        ((from, until), 1)
    );
    assert_eq!(restarted.ramp.before_au, Fraction::whole(2250));
}

#[test]
fn a_short_absence_starts_higher_and_a_very_short_one_has_no_ramp() {
    let ten_days = (date(2026, 10, 5), date(2026, 10, 14));
    let weeks = [&BEFORE[..], &[0; 3]].concat();
    let short = returning_in(&series(&weeks, ten_days), "2026-W43");
    let Returning { ramp, week, .. } = short.unwrap().unwrap();
    assert_eq!(au(ramp.ceilings_au()), [1575.0, 1800.0, 2025.0, 2250.0]);
    // Blocks of seven days from the first day after the absence, a Thursday.
    assert_eq!(
        (week.from, week.to),
        (date(2026, 10, 15), date(2026, 10, 21))
    );
    let six_days = (date(2026, 10, 5), date(2026, 10, 10));
    assert_eq!(returning_in(&series(&weeks, six_days), "2026-W43"), None);
}

#[test]
fn without_three_known_weeks_there_is_no_ramp() {
    let early = (date(2026, 9, 21), date(2026, 10, 11));
    let returning_after = |weeks: &[u16]| returning_in(&series(weeks, early), "2026-W42");
    let few = returning_after(&[2100, 2300, 0, 0, 0, 500]);
    assert_eq!(few, Some(Err(Reason::FewerThan3Weeks)));
    let late = (date(2026, 9, 28), date(2026, 10, 11));
    let nothing = returning_in(&series(&[0, 0, 0, 0, 0, 500], late), "2026-W42");
    assert_eq!(nothing, Some(Err(Reason::NoLoad)));
}

#[test]
fn the_week_after_the_last_step_is_governed_by_no_ramp() {
    let done = [1000, 1500, 1700, 2000, 2250, 9999];
    let series = series(&[&BEFORE[..], &AWAY, &done].concat(), ABSENCE);
    let fifth = returning_in(&series, "2026-W50").unwrap().unwrap();
    assert_eq!((fifth.week.number, fifth.week.step), (5, 5));
    assert_eq!(returning_in(&series, "2026-W51"), None);
    assert_eq!(returning_in(&series, "2026-W45"), None, "still away");
}

#[test]
fn a_new_absence_restarts_with_the_first_load() {
    let again = (date(2026, 11, 23), date(2026, 12, 6));
    let weeks = [&BEFORE[..], &AWAY, &[1000, 1500, 0, 0, 1100]].concat();
    let series = series_with(&weeks, &[ABSENCE, again]);
    let restarted = returning_in(&series, "2026-W50").unwrap().unwrap();
    assert_eq!(restarted.ramp.absence, again);
    assert_eq!(restarted.ramp.before_au, Fraction::whole(2250));
    assert_eq!((restarted.week.number, restarted.week.step), (1, 1));
    // Seven days away in the first week of the ramp do not lift the step to the second.
    let early = (date(2026, 11, 16), date(2026, 11, 22));
    let weeks = [&BEFORE[..], &AWAY, &[1200, 0, 1100]].concat();
    let series = series_with(&weeks, &[ABSENCE, early]);
    let restarted = returning_in(&series, "2026-W48").unwrap().unwrap();
    assert_eq!(restarted.week.step, 1);
}

#[test]
fn the_clubs_limit_is_the_last_share() {
    let series = series(&[&BEFORE[..], &AWAY].concat(), ABSENCE);
    let settings = FigureSettings {
        last_return_share: Decimal::hundredths(85),
        ..FigureSettings::default()
    };
    let ramp = ramp_after(&series, ABSENCE, &settings).unwrap();
    assert_eq!(
        au(ramp.ceilings_au()),
        [1125.0, 1575.0, 1800.0, 1912.5, 1912.5]
    );
}

#[test]
fn an_unlogged_session_leaves_the_next_ceiling_open() {
    let logged = series(&[&BEFORE[..], &AWAY, &[1000, 1600]].concat(), ABSENCE);
    let mut days = logged.days().to_vec();
    let open = DayFacts {
        expected: 1,
        unlogged: 1,
        ..DayFacts::default()
    };
    let most = Bounds {
        high: Load::from_au(900),
        ..Bounds::default()
    };
    days[9 * 7 + 2] = DayTotal::new(open, most, 0).unwrap();
    let series = DailySeries::new(logged.first(), logged.first(), days).unwrap();
    let weeks = weeks_of(&series);
    let second = weeks[1].ceiling_au.map(Fraction::to_f64);
    assert_eq!(
        (second.low, second.point, second.high),
        (1125.0, 1575.0, 1575.0)
    );
}

/// S16: 900 of 1125 AU in the first week, so the second has 1575 AU; on its Wednesday 1500 AU are done.
#[test]
fn the_running_week_has_its_ceiling_and_what_is_done() {
    let series = series(&[&BEFORE[..], &AWAY, &[900, 1500]].concat(), ABSENCE);
    let on = |day| returning_on(&series, date(2026, 11, day), &FigureSettings::default());
    assert_eq!(on(8), None, "the last day of the absence");
    let (ramp, week) = on(18).unwrap().unwrap();
    assert_eq!(ramp, ramp_of(&series));
    assert_eq!((week.number, week.step), (2, 2));
    assert_eq!(
        (week.from, week.to),
        (date(2026, 11, 16), date(2026, 11, 22))
    );
    assert_eq!(week.ceiling_au, Bounds::exact(Fraction::whole(1575)));
    assert_eq!(week.load, Bounds::exact(Load::from_au(1500)));
    let (_, first) = on(9).unwrap().unwrap();
    assert_eq!(
        (first.number, first.load),
        (1, Bounds::exact(Load::from_au(900)))
    );
}

#[test]
fn a_ramp_that_is_done_governs_no_day() {
    let weeks = [&BEFORE[..], &AWAY, &[1000, 1500, 1700, 2000, 2200, 2200]].concat();
    let series = series(&weeks, ABSENCE);
    let on = |day| returning_on(&series, day, &FigureSettings::default());
    assert_eq!(on(date(2026, 12, 13)).unwrap().unwrap().1.step, 5);
    assert_eq!(on(date(2026, 12, 14)), None);
}
