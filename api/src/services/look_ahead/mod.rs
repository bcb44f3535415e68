//! Looking ahead to the weekend: who will, or may, be over a limit in the running week if what is still
//! planned happens.

pub mod setting;

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::tz::TimeZone;
use plimsoll_domain::{Ahead, Certainty, IsoWeek};

use super::closing_time::ClosingTime;
use super::explain::Read;
use super::figures::{self, Asked};
use super::flags::looks_back_to;
use super::notices::{self, Notice, PlannedOver};
use super::policy::Policies;
use super::week_ahead::Schedule;
use super::write::{self, Change};
use super::{ratings, returns, zones};
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::store::look_aheads::{self, LookAhead};
use crate::store::{Conn, Known, Tenant, Who, memberships, squads};

/// Who will, or may, be over, and by which policy.
#[derive(Debug)]
pub struct Found {
    /// The athletes, in the order of their ids.
    pub over: Vec<Ahead<AthleteId>>,
    /// The policy's version; `None` where the club has none.
    pub policy_version: Option<u32>,
    /// What it was made of.
    pub read: Read,
}

/// What is still planned of a week that runs, judged: a query a table.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    week: IsoWeek,
    (known, now): (Known, Timestamp),
) -> Result<Found, Problem> {
    let who = Who::Athletes(athletes);
    let policies = Policies::read(conn, tenant, known)?;
    let asked = Asked {
        first: returns::reads_from(conn, tenant, who, (week, week), known)?,
        last: week.sunday(),
        settings: None,
        known,
        now,
    };
    let days = figures::days(conn, tenant, who, &asked, &policies)?;
    let span = (looks_back_to(week), week.sunday());
    let ratings = ratings::read(conn, tenant, who, span, known)?;
    let schedule = Schedule::read(conn, tenant, athletes, week, known)?;
    Ok(Found {
        over: schedule.over_with_the_rest(&policies, &days, &ratings)?,
        policy_version: policies.at(week.sunday()).map(|policy| policy.version),
        read: Read {
            asked,
            policies,
            days,
        },
    })
}

/// The week a look-ahead is due for, where it is: its time has come after it was set, its Sunday is not
/// over, and it was not made yet. A weekend that is over needs no look-ahead.
pub fn due(conn: &mut Conn, tenant: Tenant, now: Timestamp) -> Result<Option<IsoWeek>, Problem> {
    let stored = setting::stored(conn, tenant)?;
    if !stored.enabled {
        return Ok(None);
    }
    let time = ClosingTime::new(stored.weekday, stored.minute);
    let time = time.ok_or_else(|| Problem::internal(&"a stored time is out of range"))?;
    let zone = zones::of_club(conn, tenant)?;
    let Some(week) = due_week(time, stored.set_at, &zone, now)? else {
        return Ok(None);
    };
    let made = look_aheads::made(conn, tenant, week.monday())?;
    Ok(made.is_none().then_some(week))
}

/// The running week, where its time lies between the setting and now.
fn due_week(
    time: ClosingTime,
    set_at: Timestamp,
    zone: &TimeZone,
    now: Timestamp,
) -> Result<Option<IsoWeek>, Problem> {
    let week = IsoWeek::of(zone.to_datetime(now).date());
    let week = week.map_err(|error| Problem::internal(&error))?;
    // The same weekday counts from the Sunday before, as for a close.
    let Some(before) = week.previous() else {
        return Ok(None);
    };
    let due = time.due(before, zone)?;
    Ok((set_at <= due && due <= now).then_some(week))
}

/// Makes the look-ahead of a club where it is due: the row and the notice in one transaction. The unique
/// key of (club, week) decides: twice changes nothing.
pub async fn make(app: &App, tenant: Tenant) -> Result<Option<IsoWeek>, Problem> {
    let caller = Caller::job(tenant, "look_ahead", app.clock.now());
    let watch = app.clock_watch;
    // The clock is judged once the change has its instant, so the two cannot differ.
    let work = move |change: &mut Change<'_>| match watch.is_steady() {
        true => make_in(change),
        false => Ok(None),
    };
    write::job(app, caller, work).await
}

fn make_in(change: &mut Change<'_>) -> Result<Option<IsoWeek>, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let Some(week) = due(change.conn, tenant, at)? else {
        return Ok(None);
    };
    let members = Members::read(change.conn, tenant, week)?;
    let athletes = members.athletes();
    let found = read(change.conn, tenant, &athletes, week, (Known::Now, at))?;
    let policy_version = found.policy_version.map(i32::try_from).transpose();
    let made = LookAhead {
        monday: week.monday(),
        made_at: at,
        seq: change.moment.next_seq(),
        policy_version: policy_version.map_err(|error| Problem::internal(&error))?,
    };
    if !look_aheads::make(change.conn, tenant, &made)? {
        return Ok(None);
    }
    let over = members.over(&found.over);
    notices::enqueue(change, &[Notice::LookAhead { week, at, over }])?;
    Ok(Some(week))
}

/// Who is in which squad on any day of a week.
struct Members(BTreeMap<SquadId, BTreeSet<AthleteId>>);

impl Members {
    fn read(conn: &mut Conn, tenant: Tenant, week: IsoWeek) -> Result<Self, Problem> {
        let squads = squads::all(conn, tenant)?;
        let ids: Vec<SquadId> = squads.iter().map(|squad| squad.squad_id).collect();
        let (monday, sunday) = (week.monday(), week.sunday());
        let mut members: BTreeMap<SquadId, BTreeSet<AthleteId>> =
            ids.iter().map(|squad| (*squad, BTreeSet::new())).collect();
        for member in memberships::of_squads(conn, tenant, &ids, monday, sunday, Known::Now)? {
            let of_squad = members.entry(member.content.squad_id).or_default();
            of_squad.insert(member.content.athlete_id);
        }
        Ok(Self(members))
    }

    fn athletes(&self) -> Vec<AthleteId> {
        let all: BTreeSet<AthleteId> = self.0.values().flatten().copied().collect();
        all.into_iter().collect()
    }

    /// How many of each squad; one who is in two squads counts in both.
    fn over(&self, found: &[Ahead<AthleteId>]) -> BTreeMap<SquadId, PlannedOver> {
        let counted = |members: &BTreeSet<AthleteId>| {
            let mut over = PlannedOver::default();
            for one in found.iter().filter(|one| members.contains(&one.key)) {
                match one.judgement.certainty() {
                    Some(Certainty::Certain) => over.certain += 1,
                    Some(Certainty::Possible) => over.possible += 1,
                    None => {}
                }
            }
            over
        };
        let squads = self.0.iter();
        squads
            .map(|(squad, members)| (*squad, counted(members)))
            .collect()
    }
}

#[cfg(test)]
mod tests;
