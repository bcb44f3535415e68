//! The load before the absence, and how much of it is back: in all, and of the games.

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::ramp::after_absence;
use plimsoll_domain::{
    Bounds, DailySeries, FigureSettings, IsoWeek, Kind, Load, Ramp, Reason, ReturnShare,
    return_share,
};

use super::span::HistorySpan;
use super::weeks::{Kinds, of_kind};

/// A load before the absence and now, or why it cannot be told.
pub type Share = Result<ReturnShare, Reason>;

/// What was there before the absence, and what of it is back.
#[derive(Debug, Clone)]
pub struct BeforeAndNow {
    /// What the load before rests on; `None` where the history is about no absence.
    pub ramp: Option<Result<Ramp, Reason>>,
    /// The load in all.
    pub load: Option<Share>,
    /// The load of games.
    pub games: Option<Share>,
}

/// Compares the 28 days up to the end of the span with the weeks before the absence.
pub(super) fn before_and_now(
    series: Option<&DailySeries>,
    span: &HistorySpan,
    kinds: &Kinds,
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
    BeforeAndNow {
        load: share(&|from, to| of_days(series, from, to)),
        games: share(&|from, to| of_kind(kinds, Kind::Game, from, to)),
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
    let since = to.saturating_sub(Span::new().days(27));
    if series.is_none_or(|series| series.member_since() > since) {
        return Err(Reason::FewerThan28Days);
    }
    let weeks = ramp.before.iter().flatten();
    let before = weeks.map(|week: &IsoWeek| of(week.monday(), week.sunday()).point);
    return_share(before.sum(), ramp.weeks_used, of(since, to)).ok_or(Reason::FewerThan3Weeks)
}

fn of_days(series: Option<&DailySeries>, from: Date, to: Date) -> Bounds<Load> {
    let dates = from.series(Span::new().days(1));
    let dates = dates.take_while(|date| *date <= to);
    let days = dates.filter_map(|date| series?.day(date));
    days.fold(Bounds::default(), |sum, day| sum + day.load())
}
