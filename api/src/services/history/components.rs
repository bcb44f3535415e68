//! The load before the absence, and how much of it is back: in all, and of the games; and the same of the landings and throws that
//! were counted, since the load may be back while jumps are not. Common practice, no source.

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::ramp::after_absence;
use plimsoll_domain::{
    Bounds, CountShare, CountedSessions, DailySeries, FigureSettings, IsoWeek, Kind, Load, Ramp,
    Reason, ReturnShare, SessionCounts, count_share, return_share,
};

use super::span::HistorySpan;
use super::weeks::{Kinds, of_kind};
use crate::services::contacts::sessions::ReportedSession;

/// A load before the absence and now, or why it cannot be told.
pub type Share = Result<ReturnShare, Reason>;
/// What was counted before the absence and now, or why it cannot be told.
pub type Counted = Result<CountShare, Reason>;
/// The reported sessions by load date, each with what was counted in it, where somebody did.
pub type CountedDays = Vec<(Date, Option<SessionCounts>)>;

/// What was there before the absence, and what of it is back.
#[derive(Debug, Clone)]
pub struct BeforeAndNow {
    /// What the load before rests on; `None` where the history is about no absence.
    pub ramp: Option<Result<Ramp, Reason>>,
    /// The load in all.
    pub load: Option<Share>,
    /// The load of games.
    pub games: Option<Share>,
    /// Landings on feet that were counted.
    pub jumps: Option<Counted>,
    /// Throws that were counted.
    pub throws: Option<Counted>,
}

/// The reported sessions as they are compared.
pub(super) fn by_date(sessions: &[ReportedSession<'_>]) -> CountedDays {
    let sessions = sessions.iter();
    let dated = sessions.map(|one| (one.leading.load_date, one.counted.map(|(_, counts)| counts)));
    dated.collect()
}

/// Compares the 28 days up to the end of the span with the weeks before the absence.
pub(super) fn before_and_now(
    series: Option<&DailySeries>,
    span: &HistorySpan,
    (kinds, counted): (&Kinds, &CountedDays),
    settings: &FigureSettings,
) -> BeforeAndNow {
    let ramp = span.absence.map(|(_, last)| {
        let series = series.ok_or(Reason::FewerThan3Weeks)?;
        // Of an absence that goes on the days so far are known.
        after_absence(series, last.min(span.to), settings).ok_or(Reason::FewerThan3Weeks)?
    });
    let share = |of: &dyn Fn(Date, Date) -> Bounds<Load>| {
        let ramp = ramp?;
        Some(ramp.and_then(|ramp| shared(&ramp, series, span.to, of)))
    };
    let count = |of: fn(&SessionCounts) -> Option<u32>| {
        let ramp = ramp?;
        Some(ramp.and_then(|ramp| counted_share(&ramp, series, span.to, (counted, of))))
    };
    BeforeAndNow {
        load: share(&|from, to| of_days(series, from, to)),
        games: share(&|from, to| of_kind(kinds, Kind::Game, from, to)),
        jumps: count(SessionCounts::on_feet),
        throws: count(SessionCounts::throws),
        ramp,
    }
}

/// One part of the load: `of` says what it comes to between two dates.
fn shared(
    ramp: &Ramp,
    series: Option<&DailySeries>,
    to: Date,
    of: &dyn Fn(Date, Date) -> Bounds<Load>,
) -> Share {
    let since = since(series, to)?;
    let weeks = ramp.before.iter().flatten();
    let before = weeks.map(|week: &IsoWeek| of(week.monday(), week.sunday()).point);
    return_share(before.sum(), ramp.weeks_used, of(since, to)).ok_or(Reason::FewerThan3Weeks)
}

/// One thing that is counted: `of` says how much of it a session had, where that was counted.
fn counted_share(
    ramp: &Ramp,
    series: Option<&DailySeries>,
    to: Date,
    (days, of): (&CountedDays, fn(&SessionCounts) -> Option<u32>),
) -> Counted {
    let since = since(series, to)?;
    let within = |from: Date, to: Date| {
        let days = days
            .iter()
            .filter(move |(date, _)| (from..=to).contains(date));
        days.map(move |(_, counts)| of(counts.as_ref()?))
    };
    let weeks = ramp.before.iter().flatten();
    let before: CountedSessions = weeks
        .flat_map(|week| within(week.monday(), week.sunday()))
        .collect();
    let now = within(since, to).collect();
    count_share(before, ramp.weeks_used, now).ok_or(Reason::FewerThan3Weeks)
}

/// The first of the 28 days up to the end of the span; she has to have been a member on it.
fn since(series: Option<&DailySeries>, to: Date) -> Result<Date, Reason> {
    let since = to.saturating_sub(Span::new().days(27));
    match series {
        Some(series) if series.member_since() <= since => Ok(since),
        _ => Err(Reason::FewerThan28Days),
    }
}

fn of_days(series: Option<&DailySeries>, from: Date, to: Date) -> Bounds<Load> {
    let dates = from.series(Span::new().days(1));
    let dates = dates.take_while(|date| *date <= to);
    let days = dates.filter_map(|date| series?.day(date));
    days.fold(Bounds::default(), |sum, day| sum + day.load())
}
