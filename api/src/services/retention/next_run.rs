//! What the next night's run finds due, and what of it goes then.

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::retention::{Night, Terms};

use super::due::{self, Leaver};
use super::run;
use crate::error::Problem;
use crate::services::zones;
use crate::store::retention::runs::{self, RetentionRun};
use crate::store::retention::settings;
use crate::store::{Conn, Tenant};

/// The next run.
#[derive(Debug)]
pub struct NextRun {
    /// The date of its night's morning.
    pub night: Date,
    /// Everybody of whom something is due then.
    pub due: Vec<Leaver>,
    /// The run before it.
    pub last: Option<RetentionRun>,
}

/// Looks ahead to the next run: today's, until it is made.
pub fn read(conn: &mut Conn, tenant: Tenant, now: Timestamp) -> Result<NextRun, Problem> {
    let today = zones::club_date(conn, tenant, now)?;
    let history = settings::history(conn, tenant)?;
    let last = runs::latest(conn, tenant)?;
    let is_made = last.as_ref().is_some_and(|last| today <= last.night);
    let tomorrow = || today.tomorrow().map_err(|error| Problem::internal(&error));
    let date = if is_made { tomorrow()? } else { today };
    let none = Terms::default();
    let terms = history.last().map_or(&none, |last| &last.content.terms);
    let tonight = Night { date, terms };
    let before = last.as_ref().and_then(|last| run::night_of(last, &history));
    let due = due::leavers(conn, tenant, (tonight, before))?;
    Ok(NextRun {
        night: date,
        due,
        last,
    })
}
