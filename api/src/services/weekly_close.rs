//! Closing a club's week: flags are judged, the week is marked as closed and those who want to know are told, once.

use jiff::Timestamp;
use plimsoll_domain::IsoWeek;

use super::closing;
use super::closing_time::{DueWeek, PUNCTUAL, due_weeks};
use super::flags;
use super::notices::{self, Notice};
use super::policy::Policies;
use super::write::{self, Change};
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::store::weeks::{self, ClosedWeek};
use crate::store::{Conn, Known, Tenant};

/// What closing a week came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closing {
    /// It was closed now.
    Closed {
        /// More than an hour after its time.
        late: bool,
    },
    /// It had been closed before; nothing changed.
    ClosedBefore,
    /// Its Sunday is not over in the club's zone, or it is not due; nothing changed.
    NotOver,
}

/// Closes a club's week. The unique key of (club, week) decides: twice changes nothing.
pub async fn close(app: &App, tenant: Tenant, week: IsoWeek) -> Result<Closing, Problem> {
    let caller = Caller::job(tenant, "weekly_close", app.clock.now());
    write::job(app, caller, move |change| close_in(change, week)).await
}

/// A club's weeks that are due now, the earliest first.
pub async fn due_now(
    app: &App,
    tenant: Tenant,
    created_at: Timestamp,
) -> Result<Vec<DueWeek>, Problem> {
    let now = app.clock.now();
    app.store
        .read(tenant, move |conn| due(conn, tenant, created_at, now))
        .await
}

/// The weeks of a club that are due, from the one in which it was made.
fn due(
    conn: &mut Conn,
    tenant: Tenant,
    created_at: Timestamp,
    now: Timestamp,
) -> Result<Vec<DueWeek>, Problem> {
    let (zone, time) = closing::of_club(conn, tenant)?;
    let date = |at: Timestamp| zone.to_datetime(at).date();
    let first = IsoWeek::of(date(created_at)).map_err(|error| Problem::internal(&error))?;
    let closed = weeks::in_dates(conn, tenant, first.monday(), date(now))?;
    let closed: Vec<_> = closed.iter().map(|week| week.monday).collect();
    due_weeks(first, &closed, time, &zone, now)
}

/// Closes a club's week that was found due, if it still is: the clock may have been set since.
pub async fn close_due(app: &App, tenant: Tenant, found: DueWeek) -> Result<Closing, Problem> {
    let caller = Caller::job(tenant, "weekly_close", app.clock.now());
    let watch = app.clock_watch;
    // The clock is judged once the change has its instant, so the two cannot differ.
    let work = move |change: &mut Change<'_>| match watch.is_steady() && found.due <= change.at() {
        true => close_in(change, found.week),
        false => Ok(Closing::NotOver),
    };
    write::job(app, caller, work).await
}

fn close_in(change: &mut Change<'_>, week: IsoWeek) -> Result<Closing, Problem> {
    let tenant = change.tenant();
    let (zone, time) = closing::of_club(change.conn, tenant)?;
    if zone.to_datetime(change.at()).date() <= week.sunday() {
        return Ok(Closing::NotOver);
    }
    let policies = Policies::read(change.conn, tenant, Known::Now)?;
    let version = policies
        .at(week.sunday())
        .map(|policy| i32::try_from(policy.version));
    let late = change.at() > time.due(week, &zone)? + PUNCTUAL;
    let closed = ClosedWeek {
        monday: week.monday(),
        closed_at: change.at(),
        seq: change.moment.next_seq(),
        policy_version: version
            .transpose()
            .map_err(|error| Problem::internal(&error))?,
        late,
    };
    if !weeks::close(change.conn, tenant, &closed)? {
        return Ok(Closing::ClosedBefore);
    }
    flags::judge_closed(change, week)?;
    notices::enqueue(change, &[Notice::WeekClosed { week, late }])?;
    Ok(Closing::Closed { late })
}
