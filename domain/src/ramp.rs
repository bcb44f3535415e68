//! Return after an absence: weekly ceilings as shares of the load before it.
//!
//! `C0` is the mean of the last four complete, known ISO weeks before the absence (three at least).
//! Week k after it has the ceiling `f_k x C0`: f = 0.5, 0.7, 0.8, 0.9, 1 after 14 days or more, and
//! from 0.7 on after 7 to 13 days. Ramp weeks are blocks of seven days from the first day after the
//! absence. A week above its ceiling repeats the step. A clinician's limit below the ceiling is the
//! ceiling.
//!
//! The shares apply the published 50/30/20/10 per cent reductions for transition periods to session
//! load by club choice; they are no medical limit, and they clear nobody.

use jiff::Span;
use jiff::civil::Date;

use crate::day::DayTotal;
use crate::day_state::NothingSaid;
use crate::earlier_weeks::earlier_weeks;
use crate::exact::Fraction;
use crate::figure::Bounds;
use crate::load::Load;
use crate::reason::Reason;
use crate::series::{DailySeries, days_between};
use crate::week::IsoWeek;
use crate::window;

/// Weeks whose mean is the load before the absence.
const WEEKS: usize = 4;
/// Weeks needed.
const LEAST_WEEKS: usize = 3;
/// Shares of the earlier load, in tenths.
const TENTHS: [i64; 5] = [5, 7, 8, 9, 10];

/// The ramp after one absence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ramp {
    /// First day after the absence.
    pub from: Date,
    /// Mean week before the absence, AU.
    pub before_au: Fraction,
    /// Weeks it was taken over.
    pub weeks_used: u8,
    /// Which share the first week has.
    first_step: usize,
}

/// One week of a ramp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RampWeek {
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
    /// 1, 2, 3, … of the shares; repeated after a breach.
    pub step: usize,
    /// The ceiling, AU.
    pub ceiling_au: Fraction,
    /// What was done.
    pub load: Bounds<Load>,
}

impl RampWeek {
    /// Above the ceiling, as logged.
    #[must_use]
    pub fn is_breach(&self) -> bool {
        self.over_by_au() > Fraction::ZERO
    }

    /// How far above the ceiling, AU; negative when below.
    #[must_use]
    pub fn over_by_au(&self) -> Fraction {
        Fraction::over::<2>(self.load.point.half_au()).less(self.ceiling_au)
    }
}

/// The ramp after the absence `from..=to`; `None` after fewer than seven days.
///
/// # Errors
/// [`Reason::FewerThan3Weeks`] where fewer than three known weeks lie before the absence.
pub fn ramp(
    series: &DailySeries,
    from: Date,
    to: Date,
    nothing_said: NothingSaid,
) -> Result<Option<Ramp>, Reason> {
    let days = days_between(from, to) + 1;
    let first_step = match days {
        ..7 => return Ok(None),
        7..14 => 1,
        _ => 0,
    };
    let weeks = weeks_before(series, from, nothing_said)?;
    if weeks.len() < LEAST_WEEKS {
        return Err(Reason::FewerThan3Weeks);
    }
    let sum: i64 = weeks.iter().map(|load| load.half_au()).sum();
    let used = i64::try_from(weeks.len()).map_err(|_| Reason::NotRead)?;
    let before_au = Fraction::new(sum, 2 * used).ok_or(Reason::NotRead)?;
    Ok(Some(Ramp {
        from: to.saturating_add(Span::new().days(1)),
        before_au,
        weeks_used: u8::try_from(used).map_err(|_| Reason::NotRead)?,
        first_step,
    }))
}

impl Ramp {
    /// The ceilings, one a week, if every week stays below its own.
    pub fn ceilings_au(&self) -> impl Iterator<Item = Fraction> {
        TENTHS[self.first_step..]
            .iter()
            .map(|tenths| self.ceiling(*tenths))
    }

    /// The weeks that are over by the end of the series, until the ramp is done. `limit` is a
    /// clinician's limit for a week, AU.
    #[must_use]
    pub fn weeks(
        &self,
        series: &DailySeries,
        limit: impl Fn(Date) -> Option<Fraction>,
    ) -> Vec<RampWeek> {
        let mut done = Vec::new();
        let (mut step, mut from) = (self.first_step, self.from);
        while let Some(tenths) = TENTHS.get(step) {
            let to = from.saturating_add(Span::new().days(6));
            let Ok(days) = series.window(to, window::ACUTE_DAYS, Reason::NotRead) else {
                break;
            };
            let ceiling = self.ceiling(*tenths);
            let week = RampWeek {
                from,
                to,
                step: step - self.first_step + 1,
                ceiling_au: limit(from).map_or(ceiling, |limit| limit.min(ceiling)),
                load: window::total(days),
            };
            step += usize::from(!week.is_breach());
            from = to.saturating_add(Span::new().days(1));
            done.push(week);
        }
        done
    }

    fn ceiling(&self, tenths: i64) -> Fraction {
        self.before_au.tenths(tenths)
    }
}

/// Loads of the newest complete, known ISO weeks that ended before the absence, newest first.
fn weeks_before(
    series: &DailySeries,
    absence: Date,
    nothing_said: NothingSaid,
) -> Result<Vec<Load>, Reason> {
    let week = IsoWeek::of(absence).map_err(|_| Reason::NotRead)?;
    let known = |day: &DayTotal| day.state().is_known(nothing_said);
    let weeks = earlier_weeks(series, week, WEEKS, |week| {
        week.without_absence() && week.days.iter().all(known)
    })?;
    Ok(weeks
        .iter()
        .map(|week| window::total(week.days).point)
        .collect())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::day_state::{Absence, DayFacts};

    const ABSENCE: (Date, Date) = (date(2026, 10, 5), date(2026, 11, 8));

    /// Weeks of one session each from 7 September 2026, the absence as given.
    fn series(weeks: &[u16], (from, to): (Date, Date)) -> DailySeries {
        let first = date(2026, 9, 7);
        let mut days = Vec::new();
        for (at, load) in weeks
            .iter()
            .flat_map(|week| [*week, 0, 0, 0, 0, 0, 0])
            .enumerate()
        {
            let day = first.saturating_add(Span::new().days(i64::try_from(at).unwrap()));
            let absence = if (from..=to).contains(&day) {
                Absence::of_days(days_between(from, to) + 1)
            } else {
                Absence::None
            };
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
        ramp(series, ABSENCE.0, ABSENCE.1, NothingSaid::AssumedRest)
            .unwrap()
            .unwrap()
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
        let weeks = ramp.weeks(&series, |_| None);
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
        let weeks = ramp_of(&series).weeks(&series, |_| None);
        assert_eq!(
            weeks.iter().map(|week| week.step).collect::<Vec<_>>(),
            [1, 2, 2, 3, 4, 5]
        );
        assert_eq!(weeks[1].over_by_au().to_f64(), 25.0);
    }

    #[test]
    fn s16_a_clinicians_limit_is_the_ceiling_where_it_is_lower() {
        let series = series(&[&BEFORE[..], &AWAY, &[900, 1500]].concat(), ABSENCE);
        let second = date(2026, 11, 16);
        let limit = |from| (from == second).then(|| Fraction::whole(1400));
        let weeks = ramp_of(&series).weeks(&series, limit);
        assert_eq!(weeks[1].over_by_au().to_f64(), 100.0);
        assert!(weeks[1].is_breach() && !weeks[0].is_breach());
    }

    #[test]
    fn a_short_absence_starts_higher_and_a_very_short_one_has_no_ramp() {
        let ten_days = (date(2026, 10, 5), date(2026, 10, 14));
        let series = series(&[&BEFORE[..], &[0; 2]].concat(), ten_days);
        let short = ramp(&series, ten_days.0, ten_days.1, NothingSaid::AssumedRest);
        assert_eq!(
            au(short.unwrap().unwrap().ceilings_au()),
            [1575.0, 1800.0, 2025.0, 2250.0]
        );
        let six_days = ramp(
            &series,
            ten_days.0,
            date(2026, 10, 10),
            NothingSaid::AssumedRest,
        );
        assert_eq!(six_days, Ok(None));
    }

    #[test]
    fn without_three_known_weeks_there_is_no_ramp() {
        let series = series(
            &[2100, 2300, 0, 0, 0],
            (date(2026, 9, 21), date(2026, 10, 11)),
        );
        let early = ramp(
            &series,
            date(2026, 9, 21),
            date(2026, 10, 11),
            NothingSaid::AssumedRest,
        );
        assert_eq!(early, Err(Reason::FewerThan3Weeks));
    }
}
