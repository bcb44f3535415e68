//! After reports or plans changed: the totals of the days they reach, which planned sessions are
//! answered, and how each report stands.

use std::collections::{BTreeMap, HashMap};

use jiff::civil::Date;

use crate::error::Problem;
use crate::ids::{AthleteId, SessionId};
use crate::services::day_totals::totals;
use crate::services::policy::Policies;
use crate::services::schedule::plan::Plan;
use crate::services::schedule::standing::{self, ReportStanding, SessionStanding};
use crate::services::write::Change;
use crate::store::day_totals::{self, Days};
use crate::store::expected::{self, ExpectedDays};
use crate::store::sessions::{self, Session};
use crate::store::{Conn, DaySet, ExpectedState, Known, Tenant, Versioned};

/// How the reports of the days counted stand.
pub type Standings = HashMap<SessionId, ReportStanding>;

/// Counts the touched days anew and stores what changed: totals, and which planned sessions are
/// answered. A session over midnight can reach the day before and the day after, so those are counted
/// too, from reports one day further on each side.
pub fn recount(change: &mut Change<'_>, touched: &DaySet) -> Result<Standings, Problem> {
    if touched.is_empty() {
        return Ok(Standings::new());
    }
    let tenant = change.tenant();
    let policies = Policies::read(change.conn, tenant, Known::Now)?;
    let (mut counts, standings) = count_around(change.conn, tenant, touched, &policies)?;
    let anew = touched.around(1);
    counts.retain(|athlete, date| anew.contains(athlete, date));
    for day in anew.iter() {
        // A day without reports or plans is stored as empty, so that what it held goes.
        counts.days.entry(day).or_default();
        counts.expected.entry(day).or_default();
    }
    day_totals::replace(change.conn, tenant, &counts.days)?;
    expected::replace(change.conn, tenant, &counts.expected)?;
    Ok(standings)
}

/// How reports stand as known now, counted anew without storing anything.
pub fn standings<'a>(
    conn: &mut Conn,
    tenant: Tenant,
    reports: impl Iterator<Item = &'a Session>,
) -> Result<Standings, Problem> {
    let touched = reports.map(|report| (report.athlete_id, report.load_date));
    let touched = touched.collect();
    let policies = Policies::default();
    Ok(count_around(conn, tenant, &touched, &policies)?.1)
}

fn count_around(
    conn: &mut Conn,
    tenant: Tenant,
    touched: &DaySet,
    policies: &Policies,
) -> Result<(Counts, Standings), Problem> {
    let days = touched.around(2);
    let reports = sessions::on_days(conn, tenant, &days)?;
    let athletes = days.athletes();
    let plan = Plan::on_days(conn, tenant, days)?;
    let mut counts = Counts::default();
    let mut standings = Standings::new();
    for (athlete, reports) in by_athlete(&athletes, &reports) {
        let found = standing::of_athlete(athlete, &reports, &plan)?;
        counts.add(athlete, &found, policies)?;
        let of_reports = found.iter().flat_map(SessionStanding::of_reports);
        standings.extend(of_reports.map(|one| (one.session_id, one)));
    }
    Ok((counts, standings))
}

/// Each athlete with her reports, in the order they came.
pub fn by_athlete<'a>(
    athletes: &[AthleteId],
    reports: &'a [Versioned<Session>],
) -> BTreeMap<AthleteId, Vec<&'a Session>> {
    let mut of_each: BTreeMap<AthleteId, Vec<&Session>> = BTreeMap::new();
    athletes.iter().for_each(|athlete| {
        of_each.entry(*athlete).or_default();
    });
    for report in reports {
        let report = &report.content;
        of_each.entry(report.athlete_id).or_default().push(report);
    }
    of_each
}

/// Totals by day and setting, and the planned sessions behind them.
#[derive(Debug, Default)]
pub struct Counts {
    /// The totals.
    pub days: Days,
    /// The planned sessions.
    pub expected: ExpectedDays,
}

impl Counts {
    /// Adds what one athlete's sessions come to.
    pub fn add(
        &mut self,
        athlete: AthleteId,
        sessions: &[SessionStanding<'_>],
        policies: &Policies,
    ) -> Result<(), Problem> {
        let split = |date| policies.splits_at_midnight(date);
        let counted: Vec<_> = sessions.iter().filter_map(|one| one.as_counted()).collect();
        for ((date, setting), total) in totals(&counted, split) {
            let settings = self.days.entry((athlete, date)).or_default();
            let row = settings.entry(setting).or_default();
            row.logged_half = total.load.point.half_au();
            row.low_half = total.load.low.half_au();
            row.high_half = total.load.high.half_au();
            row.minutes = stored(total.minutes)?;
            row.sessions = stored(total.sessions)?;
        }
        for one in sessions.iter().filter_map(|one| one.expected(athlete)) {
            let day = (athlete, one.load_date);
            if one.state != ExpectedState::Cancelled {
                let settings = self.days.entry(day).or_default();
                let row = settings.entry(one.setting).or_default();
                row.expected += 1;
                row.unlogged += i32::from(one.state == ExpectedState::Open);
            }
            self.expected.entry(day).or_default().push(one);
        }
        Ok(())
    }

    /// Keeps some days only.
    pub fn retain(&mut self, keep: impl Fn(AthleteId, Date) -> bool) {
        self.days.retain(|(athlete, date), _| keep(*athlete, *date));
        self.expected
            .retain(|(athlete, date), _| keep(*athlete, *date));
    }
}

fn stored(count: u32) -> Result<i32, Problem> {
    i32::try_from(count).map_err(|error| Problem::internal(&error))
}
