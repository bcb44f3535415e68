//! When a club's mail has to wait although it is due: in its quiet hours, and beyond its quota.

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::quiet_hours::QuietHours;
use crate::clock::Clock;
use crate::store::notices::letters;
use crate::store::{Conn, StoreError, Tenant, WaitingFor, clubs, mail};

/// The span that the quota counts.
pub const SPAN: SignedDuration = SignedDuration::from_hours(24);
/// A club whose quota is used up is looked at again after this.
const AGAIN: SignedDuration = SignedDuration::from_hours(1);

/// Until when the club's mail waits, and what for; `None` where it may go out. Locks the club, so that two who send at
/// once do not both take the last of the quota.
///
/// # Errors
/// Those of the database.
pub fn hold(
    conn: &mut Conn,
    tenant: Tenant,
    quota: u32,
    now: Timestamp,
) -> Result<Option<(Timestamp, WaitingFor)>, StoreError> {
    clubs::lock(conn, tenant, Clock::Fixed(now))?;
    if let Some(until) = quiet_until(conn, tenant, now)? {
        return Ok(Some((until, WaitingFor::QuietHours)));
    }
    let left = letters::left_since(conn, tenant, now - SPAN, now)?;
    let used_up = left >= i64::from(quota);
    Ok(used_up.then_some((now + AGAIN, WaitingFor::MailQuota)))
}

fn quiet_until(
    conn: &mut Conn,
    tenant: Tenant,
    now: Timestamp,
) -> Result<Option<Timestamp>, StoreError> {
    let settings = mail::settings(conn, tenant)?;
    let minutes = settings.quiet_from.zip(settings.quiet_to);
    let Some(hours) = minutes.and_then(|(from, to)| QuietHours::new(from, to)) else {
        return Ok(None);
    };
    let club = clubs::find(conn, tenant)?.ok_or(StoreError::NotFound)?;
    let zone = TimeZone::get(&club.time_zone);
    let zone = zone.map_err(|error| StoreError::Internal(error.to_string()))?;
    Ok(hours.end(&zone, now))
}
