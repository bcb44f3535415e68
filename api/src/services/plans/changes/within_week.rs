//! The least change inside a week: exact, in steps of five minutes, in both views.

use jiff::civil::Date;
use plimsoll_domain::plan::{
    CutBy, LeastChange, Shortenable, Shortened, least_change, rolling_needs, short_by, week_need,
};
use plimsoll_domain::{DailySeries, Fraction, IsoWeek, Load, Reason};

use super::Ground;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::plans::sessions::NamedSession;

/// Most sessions that are searched.
const MOST_FREE: usize = 100;
/// Most cuts that a search may write down: the ways in which the sessions can be shortened, times the half-AU that must go, times the
/// sessions. Weeks that people can do have a tenth of it; beyond, a search could take minutes.
const MOST_SEARCHED: f64 = 1e8;

/// Which sessions of a week are shortened, the weeks before it being as planned.
#[derive(Debug)]
pub struct WithinWeek {
    /// The week.
    pub week: IsoWeek,
    /// The first date that is still to come.
    pub from: Date,
    /// So that the week as a whole is within the limit.
    pub week_view: Change,
    /// So that each of its dates is, by the seven days that end there.
    pub rolling_view: Change,
}

/// The least change for one view.
#[derive(Debug)]
pub struct Change {
    /// What must be cut, by which dates; or why there is no ratio to meet.
    pub needs: Result<Vec<CutBy>, Reason>,
    /// How far the sessions that may be cut fall short of it; zero where they suffice.
    pub short_by: Fraction,
    /// All cuts together; `None` where cuts do not suffice.
    pub total: Option<Load>,
    /// The sessions that are shortened, by start.
    pub sessions: Vec<Shortening>,
}

/// A session that is shortened.
#[derive(Debug)]
pub struct Shortening {
    /// The session.
    pub session: NamedSession,
    /// The minutes it gives.
    pub cut_minutes: u16,
    /// The minutes that are left of it.
    pub kept_minutes: u16,
}

impl Ground<'_> {
    /// The least change within a week; sessions before `from` are done.
    pub fn within_week(&self, (week, from): (IsoWeek, Date)) -> Result<WithinWeek, Problem> {
        let plan = &self.ready.plan;
        let done = plan.plan.as_done(self.athlete.days.as_ref());
        let done = done.map_err(|error| Problem::internal(&error))?;
        let free: Vec<&NamedSession> = plan
            .of_week(week)
            .filter(|one| !one.session.protected && one.session.date >= from)
            .collect();
        let needs = self.week_needs(&done, week);
        let rolling = rolling_needs(self.limit, &done, week, from);
        for needs in [&needs, &rolling].into_iter().flatten() {
            within_reason(week, &free, needs)?;
        }
        Ok(WithinWeek {
            week,
            from,
            week_view: change(&free, needs),
            rolling_view: change(&free, rolling),
        })
    }

    fn week_needs(&self, done: &DailySeries, week: IsoWeek) -> Result<Vec<CutBy>, Reason> {
        let need = week_need(self.limit, done, week)?;
        Ok(need.into_iter().collect())
    }
}

/// Refuses a week that is larger than any search should be.
fn within_reason(week: IsoWeek, free: &[&NamedSession], needs: &[CutBy]) -> Result<(), Problem> {
    let ways = free
        .iter()
        .map(|one| f64::from(one.session.minutes.get().div_ceil(5) + 1));
    let sessions = u32::try_from(free.len()).map_or(f64::INFINITY, f64::from);
    let most = needs
        .iter()
        .map(|need| need.au.to_f64())
        .fold(0.0, f64::max);
    let searched = ways.sum::<f64>() * 2.0 * most * sessions;
    if free.len() <= MOST_FREE && searched <= MOST_SEARCHED {
        return Ok(());
    }
    let fault = FieldProblem::new("/week", Code::OutOfRange, week.to_string());
    Err(Problem::field(
        fault.allowed("a week with fewer sessions, or with less to cut"),
    ))
}

fn change(free: &[&NamedSession], needs: Result<Vec<CutBy>, Reason>) -> Change {
    let shortenable = |(id, one): (usize, &&NamedSession)| Shortenable {
        id,
        start: one.start,
        intended: one.session.intended,
        minutes: one.session.minutes,
        least: one.least,
    };
    let sessions: Vec<_> = free.iter().enumerate().map(shortenable).collect();
    let found = needs.as_ref().ok();
    let found = found.and_then(|needs| least_change(&sessions, needs));
    let short = needs.as_ref().map(|needs| short_by(&sessions, needs));
    Change {
        short_by: short.unwrap_or(Fraction::ZERO),
        needs,
        total: found.as_ref().map(|change| change.total),
        sessions: shortenings(free, found),
    }
}

fn shortenings(free: &[&NamedSession], found: Option<LeastChange<usize>>) -> Vec<Shortening> {
    let changed = found.into_iter().flat_map(|change| change.sessions);
    let of = |one: Shortened<usize>| {
        let session = NamedSession::clone(free.get(one.id)?);
        Some(Shortening {
            session,
            cut_minutes: one.cut_minutes,
            kept_minutes: one.kept_minutes,
        })
    };
    changed.filter_map(of).collect()
}
