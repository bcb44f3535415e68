//! Loads of a history by week, and by kind of session.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::{Bounds, DailySeries, DayState, IsoWeek, Kind, Load};

use super::span::HistorySpan;
use crate::error::Problem;
use crate::services::day_totals::shares;
use crate::services::figures::{AthleteDays, at_most};
use crate::services::policy::Policies;
use crate::services::schedule::standing::SessionStanding;

/// What one kind of session came to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct KindLoad {
    /// Its load.
    pub load: Bounds<Load>,
    /// Sessions reported.
    pub sessions: u32,
    /// Minutes reported.
    pub minutes: u32,
    /// Expected sessions left open.
    pub unlogged: u32,
}

/// What each date came to, by kind of session.
pub type Kinds = BTreeMap<Date, BTreeMap<Kind, KindLoad>>;

/// One ISO week of a history, as far as it lies in its span and in the membership.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HistoryWeek {
    /// The dates that count: 7, or fewer at an end.
    pub days: u32,
    /// Load of the days.
    pub load: Bounds<Load>,
    /// Minutes reported.
    pub minutes: u32,
    /// Sessions reported.
    pub sessions: u32,
    /// Sessions expected whose planned end has passed.
    pub expected: u32,
    /// Those of them that are not logged.
    pub unlogged: u32,
    /// Days within an absence.
    pub absent_days: u32,
    /// The same by kind of session.
    pub by_kind: BTreeMap<Kind, KindLoad>,
}

/// What each date came to, by kind of session: what was reported, and what is open.
pub(super) fn by_kind(
    sessions: &[SessionStanding<'_>],
    days: &AthleteDays,
    policies: &Policies,
) -> Result<Kinds, Problem> {
    let standing = sessions.iter();
    let standing = standing.filter_map(|one| Some((one.as_counted()?, one.leading()?.kind)));
    let (counted, kinds): (Vec<_>, Vec<Kind>) = standing.unzip();
    let mut found = Kinds::new();
    for share in shares(&counted, |date| policies.splits_at_midnight(date)) {
        let of_date = found.entry(share.date).or_default();
        let sum = of_date.entry(kinds[share.session]).or_default();
        let low = if share.counts_in_low {
            share.load.low
        } else {
            Load::ZERO
        };
        sum.load = sum.load + Bounds { low, ..share.load };
        sum.sessions += 1;
        sum.minutes += u32::from(share.minutes.get());
    }
    for open in &days.unlogged {
        let of_date = found.entry(open.load_date).or_default();
        let sum = of_date.entry(open.kind).or_default();
        sum.load.high += at_most(open)?;
        sum.unlogged += 1;
    }
    Ok(found)
}

/// The weeks of a span, the first one first; those before the membership are left out.
pub(super) fn weeks(
    series: &DailySeries,
    span: &HistorySpan,
    kinds: &Kinds,
) -> BTreeMap<IsoWeek, HistoryWeek> {
    let mut weeks: BTreeMap<IsoWeek, HistoryWeek> = BTreeMap::new();
    let dates = series.first().series(jiff::Span::new().days(1));
    let dated = dates.zip(series.days());
    for (date, day) in dated.filter(|(date, _)| span.holds(*date)) {
        let Ok(week) = IsoWeek::of(date) else {
            continue;
        };
        let sum = weeks.entry(week).or_default();
        sum.days += 1;
        sum.load = sum.load + day.load();
        sum.minutes += day.minutes();
        sum.sessions += day.sessions();
        sum.expected += day.expected();
        sum.unlogged += day.unlogged();
        sum.absent_days += u32::from(day.absence() != plimsoll_domain::Absence::None);
        for (kind, load) in kinds.get(&date).into_iter().flatten() {
            sum.by_kind.entry(*kind).or_default().add(*load);
        }
    }
    weeks
}

impl KindLoad {
    fn add(&mut self, other: KindLoad) {
        self.load = self.load + other.load;
        self.sessions += other.sessions;
        self.minutes += other.minutes;
        self.unlogged += other.unlogged;
    }
}

/// The load of one kind of session over some dates.
pub(super) fn of_kind(kinds: &Kinds, kind: Kind, from: Date, to: Date) -> Bounds<Load> {
    let days = kinds.range(from..=to);
    let loads = days.filter_map(|(_, of_date)| of_date.get(&kind));
    loads.fold(Bounds::default(), |sum, one| sum + one.load)
}

/// How many dates of a span are in which state, and what they come to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SpanTotal {
    /// Load of the days.
    pub load: Bounds<Load>,
    /// Expected sessions left open.
    pub unlogged: u32,
    /// Dates by state, those before the membership included.
    pub states: BTreeMap<DayState, u32>,
}

/// The dates of a span together.
pub(super) fn total(series: Option<&DailySeries>, span: &HistorySpan) -> SpanTotal {
    let mut total = SpanTotal::default();
    let dates = span.from.series(jiff::Span::new().days(1));
    for date in dates.take_while(|date| *date <= span.to) {
        let day = series.and_then(|series| series.day(date));
        let state = day.map_or(DayState::BeforeMembership, |day| day.state());
        *total.states.entry(state).or_default() += 1;
        if let Some(day) = day {
            total.load = total.load + day.load();
            total.unlogged += day.unlogged();
        }
    }
    total
}
