//! The sessions of a plan on their dates.

use jiff::ToSpan;
use jiff::civil::Date;

use super::session::Effort;
use super::{PRIOR_WEEKS, PlanSession, WeekLoad};
use crate::day::DayTotal;
use crate::day_state::{Absence, DayFacts};
use crate::earlier_weeks::earlier_weeks;
use crate::figure::Bounds;
use crate::load::Load;
use crate::reason::Reason;
use crate::series::{DailySeries, days_between};
use crate::week::IsoWeek;
use crate::window;

/// A plan of whole ISO weeks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    first: IsoWeek,
    last: IsoWeek,
    sessions: Vec<PlanSession>,
}

/// Why sessions do not make a plan, or a plan does not follow a history.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// No weeks, too many of them, or weeks beyond the calendar.
    #[error("a plan has 1 to 60 weeks within the calendar")]
    Weeks,
    /// A session lies before the first or after the last week.
    #[error("{date} is outside the weeks of the plan")]
    Outside {
        /// Its date.
        date: Date,
    },
    /// More than a date can hold.
    #[error("{date} has more than 1,500 minutes")]
    OverDayMax {
        /// The first such date.
        date: Date,
    },
    /// The history does not end on the day before the plan begins.
    #[error("the history must end on the day before the first week of the plan")]
    HistoryGap,
    /// The history that was read is too short for what the membership allows to be judged.
    #[error("the history that was read does not reach back far enough")]
    HistoryNotRead,
}

impl Plan {
    /// The most weeks a plan may have: a season with the weeks around it.
    pub const MAX_WEEKS: u8 = 60;

    /// A plan of so many weeks.
    ///
    /// # Errors
    /// [`PlanError::Weeks`], [`PlanError::Outside`] or [`PlanError::OverDayMax`].
    pub fn new(
        first: IsoWeek,
        weeks: u8,
        mut sessions: Vec<PlanSession>,
    ) -> Result<Plan, PlanError> {
        if !(1..=Self::MAX_WEEKS).contains(&weeks) {
            return Err(PlanError::Weeks);
        }
        let last = first.plus(i32::from(weeks) - 1).ok_or(PlanError::Weeks)?;
        sessions.sort_by_key(|session| session.date);
        let dates = first.monday()..=last.sunday();
        let mut outside = sessions.iter().map(|session| session.date);
        if let Some(date) = outside.find(|date| !dates.contains(date)) {
            return Err(PlanError::Outside { date });
        }
        let plan = Plan {
            first,
            last,
            sessions,
        };
        let full = |date: &Date| plan.minutes_on(*date) > DayTotal::MAX_MINUTES;
        let too_full = plan.dates().find(full);
        too_full.map_or(Ok(plan), |date| Err(PlanError::OverDayMax { date }))
    }

    /// Its weeks.
    pub fn weeks(&self) -> impl Iterator<Item = IsoWeek> {
        self.first.through(self.last)
    }

    /// Its first week.
    #[must_use]
    pub const fn first(&self) -> IsoWeek {
        self.first
    }

    /// All sessions by date.
    #[must_use]
    pub fn sessions(&self) -> &[PlanSession] {
        &self.sessions
    }

    /// The sessions of a week.
    #[must_use]
    pub fn sessions_of(&self, week: IsoWeek) -> &[PlanSession] {
        self.between(week.monday(), week.sunday())
    }

    /// The planned load of each week and the part of it that is protected.
    #[must_use]
    pub fn week_loads(&self) -> Vec<WeekLoad> {
        let of = |week| {
            let sessions = self.sessions_of(week).iter();
            let protected = sessions.clone().filter(|session| session.protected);
            let protected = protected.map(PlanSession::load).sum();
            WeekLoad::new(sessions.map(PlanSession::load).sum(), protected)
        };
        self.weeks().filter_map(of).collect()
    }

    /// The days of a history with the planned ones behind them, as if they were done. Without a history
    /// the membership begins with the plan.
    ///
    /// # Errors
    /// [`PlanError::HistoryGap`].
    pub fn as_done(&self, history: Option<&DailySeries>) -> Result<DailySeries, PlanError> {
        self.after(history, Effort::AsIntended)
    }

    pub(super) fn dates(&self) -> impl Iterator<Item = Date> {
        let last = self.last.sunday();
        self.first
            .monday()
            .series(1.day())
            .take_while(move |date| *date <= last)
    }

    /// As [`Plan::as_done`], at another effort.
    pub(super) fn after(
        &self,
        history: Option<&DailySeries>,
        effort: Effort,
    ) -> Result<DailySeries, PlanError> {
        let monday = self.first.monday();
        if history.is_some_and(|history| days_between(history.last(), monday) != 1) {
            return Err(PlanError::HistoryGap);
        }
        let known = history.map_or(&[][..], DailySeries::days).iter().copied();
        let planned = self.dates().map(|date| self.day(date, effort));
        let days: Option<Vec<DayTotal>> = known.map(Some).chain(planned).collect();
        let days = days.ok_or(PlanError::Weeks)?;
        let since = history.map_or(monday, DailySeries::member_since);
        let first = history.map_or(monday, DailySeries::first);
        let series = DailySeries::new(since, first, days).map_err(|_| PlanError::Weeks)?;
        Ok(series.with_limits(history.map_or_else(Vec::new, |history| history.limits().to_vec())))
    }

    fn day(&self, date: Date, effort: Effort) -> Option<DayTotal> {
        let sessions = self.between(date, date);
        let count = u32::try_from(sessions.len()).ok()?;
        let facts = DayFacts {
            sessions: count,
            expected: count,
            ..DayFacts::default()
        };
        let load = sessions.iter().map(|session| session.load_at(effort)).sum();
        DayTotal::new(facts, Bounds::exact(load), self.minutes_on(date)).ok()
    }

    fn minutes_on(&self, date: Date) -> u32 {
        let sessions = self.between(date, date).iter();
        sessions
            .map(|session| u32::from(session.minutes.get()))
            .sum()
    }

    fn between(&self, from: Date, to: Date) -> &[PlanSession] {
        let start = self.sessions.partition_point(|session| session.date < from);
        let end = self.sessions.partition_point(|session| session.date <= to);
        &self.sessions[start..end]
    }
}

/// The loads of the ISO weeks just before a plan, at most six, the latest last: what limits its first
/// weeks. Weeks with unlogged sessions count with their lower bound, which gives the lowest limit; none
/// counts that touches an absence of 14 days or more, or lies before one.
///
/// # Errors
/// [`Reason::NotRead`] where the series does not hold them.
pub fn weeks_before(history: &DailySeries, first: IsoWeek) -> Result<Vec<Load>, Reason> {
    let wanted = 2 * PRIOR_WEEKS;
    let reach = i64::try_from(wanted).map_err(|_| Reason::NotRead)?;
    let weeks = earlier_weeks(history, first, wanted, reach, |_| true)?;
    let away = |days: &[DayTotal]| days.iter().any(|day| day.absence() == Absence::Long);
    let before = weeks.iter().take_while(|week| !away(week.days));
    let mut loads: Vec<Load> = before.map(|week| window::total(week.days).low).collect();
    loads.reverse();
    Ok(loads)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::session::{Kind, Setting};
    use crate::units::{Minutes, Rpe};

    const MONDAY: Date = date(2026, 8, 3);

    fn session(date: Date, minutes: i64, rpe: f64) -> PlanSession {
        PlanSession {
            start: None,
            date,
            setting: Setting::Club,
            kind: Kind::Practice,
            intended: Rpe::from_f64(rpe).unwrap(),
            minutes: Minutes::new(minutes).unwrap(),
            protected: false,
            contacts: None,
            warm_up: None,
        }
    }

    fn plan(weeks: u8, sessions: &[PlanSession]) -> Result<Plan, PlanError> {
        Plan::new(IsoWeek::of(MONDAY).unwrap(), weeks, sessions.to_vec())
    }

    #[test]
    fn holds_sessions_of_its_weeks_by_date() {
        let (late, early) = (
            session(date(2026, 8, 16), 90, 5.0),
            session(MONDAY, 60, 4.0),
        );
        let two = plan(2, &[late.clone(), early.clone()]).unwrap();
        assert_eq!(two.sessions(), [early.clone(), late.clone()]);
        assert_eq!(two.sessions_of(two.first()), [early]);
        let date = late.date;
        assert_eq!(plan(1, &[late]), Err(PlanError::Outside { date }));
        for weeks in [0, 61] {
            assert_eq!(plan(weeks, &[]), Err(PlanError::Weeks));
        }
        let end = IsoWeek::new(9998, 52).unwrap();
        assert_eq!(Plan::new(end, 3, Vec::new()), Err(PlanError::Weeks));
    }

    #[test]
    fn a_date_holds_25_hours() {
        let full = vec![session(MONDAY, 500, 5.0); 3];
        assert!(plan(1, &full).is_ok());
        let more = [&full[..], &[session(MONDAY, 1, 0.0)]].concat();
        assert_eq!(plan(1, &more), Err(PlanError::OverDayMax { date: MONDAY }));
    }

    #[test]
    fn follows_a_history_that_ends_the_day_before() {
        let two = plan(2, &[session(MONDAY, 60, 4.0)]).unwrap();
        let history = |first| DailySeries::of_loads(first, &[Load::from_au(100); 7]).unwrap();
        let joined = two
            .after(Some(&history(date(2026, 7, 27))), Effort::AsIntended)
            .unwrap();
        assert_eq!(
            (joined.days().len(), joined.last()),
            (21, date(2026, 8, 16))
        );
        assert_eq!(joined.day(MONDAY).unwrap().load().point, Load::from_au(240));
        for first in [date(2026, 7, 26), date(2026, 7, 28)] {
            let gap = two.after(Some(&history(first)), Effort::AsIntended);
            assert_eq!(gap, Err(PlanError::HistoryGap));
        }
        assert_eq!(
            two.after(None, Effort::Easier).unwrap().member_since(),
            MONDAY
        );
    }

    #[test]
    fn weeks_before_are_whole_and_since_the_last_long_absence() {
        let first = IsoWeek::of(MONDAY).unwrap();
        let of = |days: Vec<DayTotal>| {
            let since = MONDAY.saturating_sub(i64::try_from(days.len()).unwrap().days());
            let history = DailySeries::new(since, since, days).unwrap();
            weeks_before(&history, first).unwrap()
        };
        let days = |count| vec![DayTotal::logged(Load::from_au(100)).unwrap(); count];
        assert_eq!(of(days(20)), [Load::from_au(700); 2]);
        assert_eq!(of(days(70)), [Load::from_au(700); 6]);
        let mut returned = days(28);
        let away = DayFacts {
            absence: Absence::Long,
            ..DayFacts::default()
        };
        returned[8] = DayTotal::new(away, Bounds::default(), 0).unwrap();
        assert_eq!(of(returned), [Load::from_au(700); 2]);
    }
}
