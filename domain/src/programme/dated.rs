//! A programme on its dates.

use jiff::ToSpan;
use jiff::civil::{Date, DateTime, Time};

use super::{Changes, Item, Placed, Programme};
use crate::contacts::contacts;
use crate::exercises::Catalogue;
use crate::plan::PlanSession;
use crate::week::IsoWeek;

/// A session of a programme on a date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dated<'a> {
    /// The date.
    pub date: Date,
    /// The session and where it stands.
    pub placed: Placed<'a>,
}

/// A session whose length or effort nobody said: what it weighs is not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("minutes and intended RPE are not said of a session in week {week}")]
pub struct NoEffort {
    /// The number of its week.
    pub week: u8,
    /// The weekday, 0 for Monday.
    pub day: i8,
    /// Its number on the day.
    pub session: u8,
}

/// The sessions of a programme whose first week is this one, in order. Weeks beyond the calendar are left out.
pub fn dated(programme: &Programme, first: IsoWeek) -> impl Iterator<Item = Dated<'_>> {
    programme.sessions().filter_map(move |placed| {
        let week = first.plus(i32::from(placed.week) - 1)?;
        let ahead = i64::from(placed.weekday.to_monday_zero_offset());
        Some(Dated {
            date: week.monday().checked_add(ahead.days()).ok()?,
            placed,
        })
    })
}

/// The same as sessions of a plan with one athlete's changes, each with its landings, which are not said of a session without a list, and
/// its warm-up. Each says when it starts: at midnight where that is not said.
///
/// # Errors
/// [`NoEffort`] of the first session of which minutes or intended RPE are not said.
pub fn plan_sessions(
    (programme, changes): (&Programme, &Changes),
    first: IsoWeek,
    catalogue: &Catalogue,
) -> Result<Vec<(DateTime, PlanSession)>, NoEffort> {
    let planned = dated(programme, first).map(|Dated { date, placed }| {
        let session = placed.session;
        let (Some(intended), Some(minutes)) = (session.intended, session.minutes) else {
            return Err(NoEffort {
                week: placed.week,
                day: placed.weekday.to_monday_zero_offset(),
                session: placed.number,
            });
        };
        let theirs = changes.items(&placed);
        let exercise = |item: &Item| catalogue.get(&item.exercise);
        let items = theirs.iter().map(|theirs| theirs.item);
        let warm_up = session.warm_up.as_ref();
        let warm_up = warm_up.and_then(|one| one.with(items.clone().filter_map(exercise)));
        let items: Vec<_> = items.map(|item| item.planned(exercise(item))).collect();
        let start = date.to_datetime(session.start.unwrap_or(Time::midnight()));
        let session = PlanSession {
            date,
            start: session.start,
            setting: session.setting,
            kind: session.kind,
            intended,
            minutes,
            protected: false,
            contacts: (!session.items.is_empty()).then(|| contacts(&items)),
            warm_up,
        };
        Ok((start, session))
    });
    planned.collect()
}
