//! Return after an absence: weekly ceilings as shares of the load before it.
//!
//! `C0` is the mean of the last four complete, known ISO weeks within the 13 before the absence
//! (three at least), in AU. Week k after it has the ceiling `f_k x C0`: f = 0.5, 0.7, 0.8, 0.9, 1
//! after 14 days or more, and from 0.7 on after 7 to 13 days; the club's limit is the last share
//! and no earlier one is above it. Ramp weeks are blocks of seven days from the first day after the
//! absence. A week above its ceiling repeats the step. A new absence restarts the ramp with the
//! first `C0`, never at a higher step than the one that was reached. Where a clinician allows less in
//! the week, that is its ceiling and binds. Days on which a written clearance is waited for are days
//! away, and a week with one of them has no ceiling. A ramp is followed for twelve weeks.
//!
//! The shares apply the published 50/30/20/10 per cent reductions for transition periods to session
//! load by club choice (value from memory); they are no medical limit, and they clear nobody.

use jiff::Span;
use jiff::civil::Date;

use crate::coded::coded_enum;
use crate::day::DayTotal;
use crate::day_figures::FigureSettings;
use crate::day_state::{Absence, NothingSaid};
use crate::earlier_weeks::earlier_weeks;
use crate::exact::{Decimal, Fraction};
use crate::figure::Bounds;
use crate::load::Load;
use crate::reason::Reason;
use crate::series::{DailySeries, days_between};
use crate::week::IsoWeek;
use crate::window;

/// Weeks before an absence among which its known ones are looked for.
pub const LOOKS_BACK_WEEKS: i64 = 13;
/// Weeks after an absence in which its ramp is followed.
pub const FOLLOWED_WEEKS: i64 = 12;
/// Days from which an absence has a ramp.
pub const LEAST_DAYS: i64 = 7;

/// Weeks whose mean is the load before the absence.
const WEEKS: usize = 4;
/// Weeks needed.
const LEAST_WEEKS: usize = 3;
/// Shares of the earlier load, in tenths; the last one is the club's.
const TENTHS: [i64; 5] = [5, 7, 8, 9, 10];

coded_enum! {
    /// Whose limit a ceiling is.
    Binding {
        /// The club's share of the load before the absence.
        Policy = "policy",
        /// A clinician's limit, where it is lower.
        Clinician = "clinician",
    }
}

/// The ramp after one absence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ramp {
    /// First and last day of the absence.
    pub absence: (Date, Date),
    /// Mean week before the absence, AU; before the first one where another followed.
    pub before_au: Fraction,
    /// Weeks it was taken over.
    pub weeks_used: u8,
    /// Which ones, newest first.
    pub before: [Option<IsoWeek>; WEEKS],
    /// Which share the first week has.
    first_step: usize,
    /// The share of the last step.
    last_share: Decimal,
}

/// One week of a ramp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RampWeek {
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
    /// 1, 2, 3, … since the absence.
    pub number: usize,
    /// 1 to 5, which of the shares applies as logged; repeated after a breach.
    pub step: usize,
    /// The ceiling, AU; lower where an unlogged session may have made an earlier week a breach.
    pub ceiling_au: Bounds<Fraction>,
    /// Whose ceiling it is, as logged.
    pub binding: Binding,
    /// What was done.
    pub load: Bounds<Load>,
}

/// A week of a ramp with the ramp it belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Returning {
    /// The ramp.
    pub ramp: Ramp,
    /// The week.
    pub week: RampWeek,
    /// The mean of the four weeks that end with it, AU, as logged; `None` where the membership does
    /// not reach so far back.
    pub four_week_mean_au: Option<Fraction>,
}

impl RampWeek {
    /// Above the ceiling, as logged.
    #[must_use]
    pub fn is_breach(&self) -> bool {
        self.over_by_au() > Fraction::ZERO
    }

    /// How far above the ceiling, AU, as logged; negative when below.
    #[must_use]
    pub fn over_by_au(&self) -> Fraction {
        in_au(self.load.point).less(self.ceiling_au.point)
    }
}

impl Ramp {
    /// Days of the absence.
    #[must_use]
    pub fn absence_days(&self) -> i64 {
        length(self.absence)
    }

    /// The ceilings, one a week, if every week stays below its own.
    pub fn ceilings_au(&self) -> impl Iterator<Item = Fraction> {
        (self.first_step..TENTHS.len()).map(|step| self.ceiling(step))
    }

    /// This much of the mean week before the absence, in per cent; `None` of nothing.
    #[must_use]
    pub fn share_pct(&self, au: Fraction) -> Option<Fraction> {
        let (num, den) = (self.before_au.numerator(), self.before_au.denominator());
        Fraction::new(100 * au.numerator() * den, au.denominator() * num)
    }

    /// The weeks that are over by `until` and by the end of the series, until the ramp is done.
    #[must_use]
    pub fn weeks(&self, series: &DailySeries, until: Date) -> Vec<RampWeek> {
        self.followed(series, until).0
    }

    /// The week that holds a date, as far as it is done by then; `None` before the absence is over
    /// and once the ramp is done.
    #[must_use]
    pub fn week_on(&self, series: &DailySeries, date: Date) -> Option<RampWeek> {
        let (done, step, from) = self.followed(series, before(date, 1));
        let to = after(from, 6);
        if step.point >= TENTHS.len() || !(from..=to).contains(&date) {
            return None;
        }
        let length = usize::try_from(length((from, date))).ok()?;
        let days = series.window(date, length, Reason::NotRead).ok()?;
        Some(self.week(series, (done.len() + 1, step, from), window::total(days)))
    }

    /// A week of the ramp: its number, step and first day, and what was done.
    fn week(
        &self,
        series: &DailySeries,
        (number, step, from): (usize, Bounds<usize>, Date),
        load: Bounds<Load>,
    ) -> RampWeek {
        let to = after(from, 6);
        let limit = series.week_limit(from, to).map(in_au);
        let ceiling = |step| {
            let ceiling = self.ceiling(step);
            limit.map_or(ceiling, |limit| limit.min(ceiling))
        };
        let is_lower = limit.is_some_and(|limit| limit < self.ceiling(step.point));
        RampWeek {
            from,
            to,
            number,
            step: step.point + 1,
            ceiling_au: step.map(ceiling),
            binding: if is_lower {
                Binding::Clinician
            } else {
                Binding::Policy
            },
            load,
        }
    }

    /// The weeks that are over by `until`, and the step and first day of the one after them.
    fn followed(&self, series: &DailySeries, until: Date) -> (Vec<RampWeek>, Bounds<usize>, Date) {
        let mut done = Vec::new();
        let mut step = Bounds::exact(self.first_step);
        let mut from = after(self.absence.1, 1);
        while step.point < TENTHS.len() {
            let to = after(from, 6);
            let days = series.window(to, window::ACUTE_DAYS, Reason::NotRead);
            let Some(days) = days.ok().filter(|_| to <= until) else {
                break;
            };
            let week = self.week(series, (done.len() + 1, step, from), window::total(days));
            step = next_step(step, &week);
            from = after(to, 1);
            done.push(week);
        }
        (done, step, from)
    }

    /// The ceiling of a step, AU; that of the last one from then on.
    fn ceiling(&self, step: usize) -> Fraction {
        let last = self.last_share.to_fraction();
        let share = match TENTHS.get(step) {
            Some(tenths) if step + 1 < TENTHS.len() => Fraction::over::<10>(*tenths).min(last),
            _ => last,
        };
        self.before_au.times(share)
    }

    /// The step reached by a date, where the ramp is not done by then.
    fn step_at(&self, series: &DailySeries, until: Date) -> Option<usize> {
        let weeks = self.weeks(series, until);
        let step = weeks.last().map_or(self.first_step, |week| {
            week.step - 1 + usize::from(!week.is_breach())
        });
        (step < TENTHS.len()).then_some(step)
    }
}

/// The next step: one on unless the week was above its ceiling. The least that was logged gives the
/// highest step, the most that may have been done the lowest.
fn next_step(step: Bounds<usize>, week: &RampWeek) -> Bounds<usize> {
    let next = |step, load, ceiling| step + usize::from(in_au(load) <= ceiling);
    Bounds {
        low: next(step.low, week.load.high, week.ceiling_au.low),
        point: next(step.point, week.load.point, week.ceiling_au.point),
        high: next(step.high, week.load.low, week.ceiling_au.high),
    }
}

/// The ramp week that ended in an ISO week, of the absences that ended in the twelve weeks before
/// it; `None` where no ramp governs the week.
///
/// # Errors
/// [`Reason::FewerThan3Weeks`] where fewer than three known weeks lie before the absence,
/// [`Reason::NoLoad`] where those are empty, [`Reason::NotRead`] where the series does not reach back far enough to tell.
#[must_use]
pub fn returning(
    series: &DailySeries,
    week: IsoWeek,
    settings: &FigureSettings,
) -> Option<Result<Returning, Reason>> {
    let followed = |ramp: Ramp| {
        let weeks = ramp.weeks(series, week.sunday());
        let week = weeks.into_iter().find(|done| done.to >= week.monday())?;
        if series.waits_for_clearance(week.from, week.to) {
            return None;
        }
        let four_weeks = series.window(week.to, window::CHRONIC_DAYS, Reason::NotRead);
        let total = four_weeks.ok().map(|days| window::total(days).point);
        Some(Returning {
            ramp,
            week,
            four_week_mean_au: total.map(|total| Fraction::over::<8>(total.half_au())),
        })
    };
    match standing(series, week, week.sunday(), settings)? {
        Ok(ramp) => followed(ramp).map(Ok),
        Err(reason) => Some(Err(reason)),
    }
}

/// The ramp that governs a date and its week so far; `None` where none does. `series` ends on the date
/// or later.
///
/// # Errors
/// Those of [`returning`].
#[must_use]
pub fn returning_on(
    series: &DailySeries,
    date: Date,
    settings: &FigureSettings,
) -> Option<Result<(Ramp, RampWeek), Reason>> {
    if series.waits_for_clearance(date, date) {
        return None;
    }
    let week = IsoWeek::of(date).ok()?;
    match standing(series, week, date, settings)? {
        Ok(ramp) => Some(Ok((ramp, ramp.week_on(series, date)?))),
        Err(reason) => Some(Err(reason)),
    }
}

/// The ramp after the days away that hold a date; `None` where there are fewer than seven.
///
/// # Errors
/// Those of [`returning`].
#[must_use]
pub fn after_absence(
    series: &DailySeries,
    date: Date,
    settings: &FigureSettings,
) -> Option<Result<Ramp, Reason>> {
    let mut away = absences(series, Date::MAX).into_iter();
    let span = away.find(|span| (span.0..=span.1).contains(&date))?;
    if length(span) < LEAST_DAYS {
        return None;
    }
    let week = IsoWeek::of(span.1).ok()?;
    standing(series, week, after(span.1, 1), settings)
}

/// The ramp of the absences that were over before `until` and ended in the twelve weeks before a week.
fn standing(
    series: &DailySeries,
    week: IsoWeek,
    until: Date,
    settings: &FigureSettings,
) -> Option<Result<Ramp, Reason>> {
    let since = before(week.monday(), 7 * FOLLOWED_WEEKS);
    let mut standing: Option<Result<Ramp, Reason>> = None;
    for absence in absences(series, until) {
        if length(absence) < LEAST_DAYS || absence.1 < since {
            continue;
        }
        let last_day = before(absence.0, 1);
        let unfinished = standing.and_then(Result::ok).and_then(|ramp| {
            let step = ramp.step_at(series, last_day)?;
            Some(ramp.restarted(absence, step))
        });
        standing = Some(match unfinished {
            Some(restarted) => Ok(restarted),
            None => ramp_after(series, absence, settings),
        });
    }
    standing
}

/// The ramp after an absence of seven days or more.
///
/// # Errors
/// Those of [`returning`].
pub fn ramp_after(
    series: &DailySeries,
    absence: (Date, Date),
    settings: &FigureSettings,
) -> Result<Ramp, Reason> {
    let weeks = weeks_before(series, absence.0, settings.nothing_said)?;
    if weeks.len() < LEAST_WEEKS {
        return Err(Reason::FewerThan3Weeks);
    }
    let sum: i64 = weeks.iter().map(|(_, load)| load.half_au()).sum();
    if sum == 0 {
        return Err(Reason::NoLoad);
    }
    let used = i64::try_from(weeks.len()).map_err(|_| Reason::NotRead)?;
    Ok(Ramp {
        absence,
        before_au: Fraction::new(sum, 2 * used).ok_or(Reason::NotRead)?,
        weeks_used: u8::try_from(used).map_err(|_| Reason::NotRead)?,
        before: std::array::from_fn(|at| weeks.get(at).map(|(week, _)| *week)),
        first_step: first_step(absence),
        last_share: settings.last_return_share,
    })
}

impl Ramp {
    /// The ramp after a new absence while this one was at `step`.
    fn restarted(self, absence: (Date, Date), step: usize) -> Ramp {
        Ramp {
            absence,
            first_step: first_step(absence).min(step),
            ..self
        }
    }
}

fn first_step(absence: (Date, Date)) -> usize {
    usize::from(length(absence) < Absence::LONG_FROM_DAYS)
}

/// Spans of days away that are over before `until`, in an absence or waiting for a written clearance;
/// days of two that touch are one span.
fn absences(series: &DailySeries, until: Date) -> Vec<(Date, Date)> {
    let mut spans: Vec<(Date, Date)> = Vec::new();
    let mut date = series.first();
    for day in series.days() {
        if day.absence() != Absence::None || series.waits_for_clearance(date, date) {
            match spans.last_mut() {
                Some(span) if after(span.1, 1) == date => span.1 = date,
                _ => spans.push((date, date)),
            }
        }
        date = after(date, 1);
    }
    spans.retain(|span| span.1 < until);
    spans
}

/// The newest complete, known ISO weeks that ended before the absence with their loads, newest first.
fn weeks_before(
    series: &DailySeries,
    absence: Date,
    nothing_said: NothingSaid,
) -> Result<Vec<(IsoWeek, Load)>, Reason> {
    let week = IsoWeek::of(absence).map_err(|_| Reason::NotRead)?;
    let known = |day: &DayTotal| day.state().is_known(nothing_said);
    let weeks = earlier_weeks(series, week, WEEKS, LOOKS_BACK_WEEKS, |week| {
        week.without_absence() && week.days.iter().all(known)
    })?;
    let dated = weeks.iter().map(|earlier| {
        let monday = before(week.monday(), 7 * earlier.weeks_back);
        let load = window::total(earlier.days).point;
        IsoWeek::of(monday).map(|week| (week, load))
    });
    dated.collect::<Result<_, _>>().map_err(|_| Reason::NotRead)
}

const fn in_au(load: Load) -> Fraction {
    Fraction::over::<2>(load.half_au())
}

fn length((from, to): (Date, Date)) -> i64 {
    days_between(from, to) + 1
}

fn after(date: Date, days: i64) -> Date {
    date.saturating_add(Span::new().days(days))
}

fn before(date: Date, days: i64) -> Date {
    date.saturating_sub(Span::new().days(days))
}

#[cfg(test)]
mod tests;
