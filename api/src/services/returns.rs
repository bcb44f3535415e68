//! How far apart days are read and judged where an athlete comes back from days away: her ceilings
//! rest on the weeks before them.

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::ramp::{FOLLOWED_WEEKS, LOOKS_BACK_WEEKS};
use plimsoll_domain::{IsoWeek, ramp};

use super::flags::looks_back_to;
use super::local_time::LATEST;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::absences::{self, Absence};
use crate::store::restrictions::{self, Restriction};
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
    let away = away
        .iter()
        .map(|one| &one.content)
        .filter(|one| has_ramp(one));
    let held = restrictions::in_dates(conn, tenant, who, since, last.sunday(), known)?;
    let held = held.iter().map(|one| &one.content).filter(|one| waits(one));
    let starts = away.map(|one| one.from_date);
    let starts = starts.chain(held.map(|one| one.from_date));
    // A week more, for the Monday of the week in which it began.
    let needed = starts.map(|from| weeks_before(from, LOOKS_BACK_WEEKS + 1));
    Ok(needed.min().map_or(usual, |needed| needed.min(usual)))
}

/// A span of days away after which there are ceilings.
#[derive(Debug, Clone, Copy)]
pub struct Away {
    /// Who is away.
    pub athlete: AthleteId,
    from: Date,
    to: Date,
}

/// The spans away whose ceilings rest on days of some athletes from `from` on.
pub fn resting_on(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    from: Date,
) -> Result<Vec<Away>, Problem> {
    let who = Who::Athletes(athletes);
    let away = absences::in_dates(conn, tenant, who, from, LATEST, Known::Now)?;
    let away = away.into_iter().map(|one| one.content).filter(has_ramp);
    let held = restrictions::in_dates(conn, tenant, who, from, LATEST, Known::Now)?;
    let held = held.into_iter().map(|one| one.content).filter(waits);
    let away = away.map(|one| Away {
        athlete: one.athlete_id,
        from: one.from_date,
        to: one.to_date,
    });
    let held = held.map(|one| Away {
        athlete: one.athlete_id,
        from: one.from_date,
        to: LATEST,
    });
    Ok(away.chain(held).collect())
}

/// The last date whose judgement a change on a day up to `changed` can reach through days away.
pub fn reaches(away: &Away, changed: Date) -> Option<Date> {
    let rests_on = weeks_before(away.from, LOOKS_BACK_WEEKS + 1) <= changed;
    let reached = away.to.saturating_add(Span::new().weeks(FOLLOWED_WEEKS));
    rests_on.then_some(reached.min(LATEST))
}

fn has_ramp(absence: &Absence) -> bool {
    let days = absence.to_date.duration_since(absence.from_date).as_hours() / 24 + 1;
    days >= ramp::LEAST_DAYS
}

/// Days in which a written clearance is waited for count as days away.
fn waits(restriction: &Restriction) -> bool {
    restriction.written_clearance.is_some()
}

fn weeks_before(date: Date, weeks: i64) -> Date {
    date.saturating_sub(Span::new().weeks(weeks))
}
