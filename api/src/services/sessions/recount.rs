//! After reports changed: the totals of the days they reach, and who overlaps whom.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use jiff::civil::Date;
use plimsoll_domain::{Minutes, overlaps};

use super::answer;
use crate::error::Problem;
use crate::ids::{AthleteId, SessionId};
use crate::services::day_totals::{Counted, totals};
use crate::services::policy::Policies;
use crate::services::write::Change;
use crate::store::day_totals::{self, Days, Totals};
use crate::store::sessions::{self, Session};
use crate::store::{Known, Who};

/// Days of athletes whose reports changed.
#[derive(Debug, Clone, Default)]
pub struct Touched(BTreeMap<AthleteId, BTreeSet<Date>>);

impl Touched {
    /// Adds the day of a report.
    pub fn add(&mut self, session: &Session) {
        self.add_day(session.athlete_id, session.load_date);
    }

    /// Adds a day.
    pub fn add_day(&mut self, athlete: AthleteId, date: Date) {
        self.0.entry(athlete).or_default().insert(date);
    }

    /// Whether nothing changed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Each athlete with the first and the last day that changed.
    pub fn spans(&self) -> impl Iterator<Item = (AthleteId, (Date, Date))> {
        self.0
            .iter()
            .filter_map(|(athlete, dates)| Some((*athlete, (*dates.first()?, *dates.last()?))))
    }

    fn athletes(&self) -> Vec<AthleteId> {
        self.0.keys().copied().collect()
    }

    /// All dates within `days` of a touched one, of any athlete.
    fn dates_around(&self, days: i64) -> Vec<Date> {
        let all = self.0.values().flatten();
        let around: BTreeSet<Date> = all.flat_map(|date| around(*date, days)).collect();
        around.into_iter().collect()
    }
}

fn around(date: Date, days: i64) -> impl Iterator<Item = Date> {
    (-days..=days).filter_map(move |shift| date.checked_add(jiff::Span::new().days(shift)).ok())
}

/// The reports that overlap another one.
pub type Overlapping = HashSet<SessionId>;

/// Counts the touched days anew and stores what changed. A session over midnight can reach the day
/// before and the day after, so those are counted too, from reports one day further on each side.
pub fn recount(change: &mut Change<'_>, touched: &Touched) -> Result<Overlapping, Problem> {
    if touched.is_empty() {
        return Ok(Overlapping::new());
    }
    let tenant = change.tenant();
    let policies = Policies::read(change.conn, tenant, Known::Now)?;
    let (athletes, dates) = (touched.athletes(), touched.dates_around(2));
    let reports = sessions::on_dates(change.conn, tenant, Who::Athletes(&athletes), &dates)?;
    let mut overlapping = Overlapping::new();
    let mut days = Days::new();
    for of_one in reports.chunk_by(|a, b| a.content.athlete_id == b.content.athlete_id) {
        let sessions: Vec<&Session> = of_one.iter().map(|one| &one.content).collect();
        overlapping.extend(overlapping_among(&sessions)?);
        count(&sessions, &policies, &mut days)?;
    }
    days.retain(|(athlete, date), _| counts_anew(touched, *athlete, *date));
    for (athlete, dates) in &touched.0 {
        for date in dates.iter().flat_map(|date| around(*date, 1)) {
            // A day without reports is stored as empty, so that old totals go.
            days.entry((*athlete, date)).or_default();
        }
    }
    day_totals::replace(change.conn, tenant, &days)?;
    Ok(overlapping)
}

fn counts_anew(touched: &Touched, athlete: AthleteId, date: Date) -> bool {
    touched
        .0
        .get(&athlete)
        .is_some_and(|dates| around(date, 1).any(|near| dates.contains(&near)))
}

/// Adds the totals of one athlete's reports. They must hold everything that overlaps them.
pub fn count(sessions: &[&Session], policies: &Policies, days: &mut Days) -> Result<(), Problem> {
    let Some(first) = sessions.first() else {
        return Ok(());
    };
    let counted = sessions
        .iter()
        .map(|one| counted(one))
        .collect::<Result<Vec<_>, _>>()?;
    for ((date, setting), total) in totals(&counted, |date| policies.splits_at_midnight(date)) {
        let row = Totals {
            logged_half: total.load.point.half_au(),
            low_half: total.load.low.half_au(),
            high_half: total.load.high.half_au(),
            minutes: stored(total.minutes)?,
            sessions: stored(total.sessions)?,
            expected: 0,
            unlogged: 0,
        };
        days.entry((first.athlete_id, date))
            .or_default()
            .insert(setting, row);
    }
    Ok(())
}

fn overlapping_among(sessions: &[&Session]) -> Result<Vec<SessionId>, Problem> {
    let counted = sessions
        .iter()
        .map(|one| counted(one))
        .collect::<Result<Vec<_>, _>>()?;
    let intervals: Vec<_> = counted.iter().map(Counted::interval).collect();
    let found = sessions.iter().zip(overlaps(&intervals));
    Ok(found
        .filter(|(_, overlap)| overlap.overlaps)
        .map(|(one, _)| one.session_id)
        .collect())
}

/// What totals need of a stored report.
fn counted(session: &Session) -> Result<Counted, Problem> {
    let before = session.minutes_before_midnight;
    Ok(Counted {
        load_date: session.load_date,
        started_at: session.started_at,
        minutes: answer::minutes(session)?,
        minutes_before_midnight: before.and_then(|before| Minutes::new(before.into()).ok()),
        rpe: answer::rpe(session)?,
        setting: session.setting,
    })
}

fn stored(count: u32) -> Result<i32, Problem> {
    i32::try_from(count).map_err(|error| Problem::internal(&error))
}
