//! How far apart days are read and judged where an athlete comes back from an absence: her ceilings
//! rest on the weeks before it.

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::ramp::{FOLLOWED_WEEKS, LOOKS_BACK_WEEKS};
use plimsoll_domain::{IsoWeek, ramp};

use super::flags::looks_back_to;
use super::local_time::LATEST;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::absences::{self, Absence};
use crate::store::{Conn, Known, Tenant, Who};

/// The first date to read for judging the weeks from `first` to `last`.
pub fn reads_from(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (first, last): (IsoWeek, IsoWeek),
    known: Known,
) -> Result<Date, Problem> {
    let since = weeks_before(first.monday(), FOLLOWED_WEEKS);
    let away = absences::in_dates(conn, tenant, who, since, last.sunday(), known)?;
    let usual = looks_back_to(first);
    let starts = away.iter().filter(|one| has_ramp(&one.content));
    // A week more, for the Monday of the week in which the absence began.
    let needed = starts.map(|one| weeks_before(one.content.from_date, LOOKS_BACK_WEEKS + 1));
    Ok(needed.min().map_or(usual, |needed| needed.min(usual)))
}

/// The absences whose ceilings rest on days of some athletes from `from` on.
pub fn resting_on(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    from: Date,
) -> Result<Vec<Absence>, Problem> {
    let who = Who::Athletes(athletes);
    let away = absences::in_dates(conn, tenant, who, from, LATEST, Known::Now)?;
    let away = away.into_iter().map(|one| one.content);
    Ok(away.filter(has_ramp).collect())
}

/// The last date whose judgement a change on a day up to `changed` can reach through an absence.
pub fn reaches(absence: &Absence, changed: Date) -> Option<Date> {
    let rests_on = weeks_before(absence.from_date, LOOKS_BACK_WEEKS + 1) <= changed;
    let reached = absence
        .to_date
        .saturating_add(Span::new().weeks(FOLLOWED_WEEKS));
    rests_on.then_some(reached.min(LATEST))
}

fn has_ramp(absence: &Absence) -> bool {
    let days = absence.to_date.duration_since(absence.from_date).as_hours() / 24 + 1;
    days >= ramp::LEAST_DAYS
}

fn weeks_before(date: Date, weeks: i64) -> Date {
    date.saturating_sub(Span::new().weeks(weeks))
}
