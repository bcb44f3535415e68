//! The night's run: erases what is due and was due on the night before too, and notes how much that was.
//!
//! All of a club's run is one transaction while the club is held, so a night has one run whole or none, and instances that try at the
//! same moment find it there. The settings of the night before are those that its run names.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use plimsoll_domain::RecordClass;
use plimsoll_domain::retention::Night;

use super::due::{self, Before, Leaver};
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::services::write::{self, Change};
use crate::services::zones;
use crate::store::retention::runs::{self, RetentionRun, RowsByClass};
use crate::store::retention::settings::{self, SettingsVersion};
use crate::store::{Clubs, Conn, Tenant, subject_records};

/// From when on a night's run is made, in the club's zone.
pub const HOUR: Time = Time::constant(3, 0, 0, 0);
/// Athletes erased in one run: the club's writers wait for as long. The rest goes on the next nights.
const MOST: usize = 100;

/// What a run came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// The club keeps everything; nothing was noted.
    NoTerms,
    /// That night, or a later one, has its run; nothing changed.
    RunBefore,
    /// The machine's clock was set while the service ran; nothing changed.
    ClockInDoubt,
    /// It was made now.
    Ran(Ran),
}

/// What was erased, and what was not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ran {
    /// The date of the night's morning.
    pub night: Date,
    /// Of how many athletes something was erased.
    pub athletes: usize,
    /// How many rows, by class.
    pub erased: BTreeMap<RecordClass, i64>,
    /// Athletes of whom something is due that goes on a later night.
    pub waiting: usize,
    /// Athletes of whom something is due and held.
    pub held: usize,
}

/// The night whose run is to be made at an instant; `None` before its hour.
pub fn night(zone: &TimeZone, now: Timestamp) -> Option<Date> {
    let local = zone.to_datetime(now);
    (HOUR <= local.time()).then(|| local.date())
}

/// Whether a club's run is to be made now: it has terms, and the night has none yet.
pub fn is_due(conn: &mut Conn, tenant: Tenant, now: Timestamp) -> Result<bool, Problem> {
    let Some(night) = night(&zones::of_club(conn, tenant)?, now) else {
        return Ok(false);
    };
    let latest = runs::latest(conn, tenant)?;
    if latest.is_some_and(|latest| night <= latest.night) {
        return Ok(false);
    }
    let settings = settings::history(conn, tenant)?;
    Ok(settings
        .last()
        .is_some_and(|last| !last.content.terms.is_empty()))
}

/// Makes the run of the date that it is in the club's zone, whatever the hour. Once all clubs have theirs, [`clean`].
pub async fn run(app: &App, tenant: Tenant) -> Result<Outcome, Problem> {
    let (caller, work) = prepared(app, tenant);
    write::job(app, caller, work).await
}

/// Makes the database forget the bytes of what runs of any club erased. What cannot be done now is done at a later look.
pub async fn clean(app: &App) {
    let unclean = match app.store.read(Clubs::Every, runs::unclean).await {
        Ok(unclean) => unclean,
        Err(error) => return tracing::warn!(%error, "runs to clean up after could not be read"),
    };
    if unclean.is_empty() {
        return;
    }
    let tables = subject_records::touched(|_| true);
    if let Err(error) = app.store.scrub(tables).await {
        return tracing::warn!(%error, "the database still holds bytes of what was erased; it is tried again");
    }
    let now = app.clock.now();
    for (club, night) in unclean {
        let tenant = Tenant::granted(club);
        let noted = app
            .store
            .write(tenant, move |conn| runs::cleaned(conn, tenant, night, now))
            .await;
        if let Err(error) = noted {
            tracing::warn!(%error, "that a run was cleaned up after could not be noted; it is done once more");
        }
    }
}

/// Says what a run would come to.
pub async fn trial(app: &App, tenant: Tenant) -> Result<Outcome, Problem> {
    let (caller, work) = prepared(app, tenant);
    write::trial(app, caller, work).await
}

fn prepared(
    app: &App,
    tenant: Tenant,
) -> (
    Caller,
    impl FnOnce(&mut Change<'_>) -> Result<Outcome, Problem> + Send + 'static,
) {
    let watch = app.clock_watch;
    // The clock is judged once the change has its instant, so the two cannot differ.
    let work = move |change: &mut Change<'_>| match watch.is_steady() {
        true => run_in(change),
        false => Ok(Outcome::ClockInDoubt),
    };
    (Caller::job(tenant, "retention", app.clock.now()), work)
}

fn run_in(change: &mut Change<'_>) -> Result<Outcome, Problem> {
    let tenant = change.tenant();
    // The clock's instant, and not the change's, which stays ahead for as long as a clock once was.
    let now = change.now();
    let date = zones::club_date(change.conn, tenant, now)?;
    let history = settings::history(change.conn, tenant)?;
    let latest = runs::latest(change.conn, tenant)?;
    if latest.as_ref().is_some_and(|latest| date <= latest.night) {
        return Ok(Outcome::RunBefore);
    }
    let Some(current) = history.last().filter(|last| !last.content.terms.is_empty()) else {
        return Ok(Outcome::NoTerms);
    };
    let tonight = Night {
        date,
        terms: &current.content.terms,
    };
    let before = latest.as_ref().and_then(|run| night_of(run, &history));
    let leavers = due::leavers(change.conn, tenant, (tonight, before))?;
    let ran = erase(change, date, &leavers)?;
    let run = RetentionRun {
        night: date,
        run_at: change.at(),
        settings_version: current.version,
        athletes: i32::try_from(ran.athletes).map_err(|error| Problem::internal(&error))?,
        erased: RowsByClass(ran.erased.clone()),
        cleaned_at: None,
    };
    runs::insert(change.conn, tenant, &run)?;
    Ok(Outcome::Ran(ran))
}

/// The night of a run, with the terms of then and the run's instant.
pub fn night_of<'a>(run: &RetentionRun, history: &'a [SettingsVersion]) -> Before<'a> {
    let then = history
        .iter()
        .find(|one| one.version == run.settings_version)?;
    let night = Night {
        date: run.night,
        terms: &then.content.terms,
    };
    Some((night, run.run_at))
}

fn erase(change: &mut Change<'_>, night: Date, leavers: &[Leaver]) -> Result<Ran, Problem> {
    let (tenant, mut ran) = (change.tenant(), Ran::nothing(night));
    for leaver in leavers {
        let is_full = ran.athletes == MOST;
        if !leaver.holds.is_empty() {
            ran.held += 1;
        } else if is_full || leaver.goes.len() < leaver.over.len() {
            ran.waiting += 1;
        }
        if is_full || leaver.goes.is_empty() {
            continue;
        }
        let athlete = leaver.athlete_id;
        let counts = subject_records::erase(change.conn, tenant, athlete, &leaver.goes)?;
        for (table, rows) in counts {
            let rows = i64::try_from(rows).map_err(|error| Problem::internal(&error))?;
            if let Some(class) = subject_records::class_of(table) {
                *ran.erased.entry(class).or_default() += rows;
            }
        }
        ran.athletes += 1;
    }
    Ok(ran)
}

impl Ran {
    fn nothing(night: Date) -> Self {
        Self {
            night,
            athletes: 0,
            erased: BTreeMap::new(),
            waiting: 0,
            held: 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_night_begins_at_three_in_the_clubs_zone() {
        let zone = TimeZone::get("Europe/Copenhagen").unwrap();
        let night = |instant: &str| night(&zone, instant.parse().unwrap());
        assert_eq!(night("2026-11-09T01:59:59Z"), None);
        assert_eq!(night("2026-11-09T02:00:00Z"), Some(date(2026, 11, 9)));
        assert_eq!(night("2026-11-09T22:59:59Z"), Some(date(2026, 11, 9)));
        assert_eq!(
            night("2026-11-09T23:00:00Z"),
            None,
            "the next one's hour is to come"
        );
        // The clocks show 02:00 to 03:00 twice, and skip it in spring.
        assert_eq!(night("2026-10-25T01:59:59Z"), None);
        assert_eq!(night("2026-10-25T02:00:00Z"), Some(date(2026, 10, 25)));
        assert_eq!(night("2026-03-29T00:59:59Z"), None);
        assert_eq!(night("2026-03-29T01:00:00Z"), Some(date(2026, 3, 29)));
    }
}
