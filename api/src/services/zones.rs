//! Home zones: of a club, of an athlete.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::error::Problem;
use crate::store::athletes::Athlete;
use crate::store::{Conn, Tenant, clubs};

/// The club's zone.
pub fn of_club(conn: &mut Conn, tenant: Tenant) -> Result<TimeZone, Problem> {
    let club = clubs::find(conn, tenant)?.ok_or_else(Problem::not_found)?;
    named(&club.time_zone)
}

/// The club's date at an instant.
pub fn club_date(conn: &mut Conn, tenant: Tenant, at: Timestamp) -> Result<Date, Problem> {
    Ok(of_club(conn, tenant)?.to_datetime(at).date())
}

/// The athlete's own zone, else the club's.
pub fn home(conn: &mut Conn, tenant: Tenant, athlete: &Athlete) -> Result<TimeZone, Problem> {
    match &athlete.time_zone {
        Some(zone) => named(zone),
        None => of_club(conn, tenant),
    }
}

/// A stored zone name was checked before it was stored; an unknown one is a defect.
pub fn named(zone: &str) -> Result<TimeZone, Problem> {
    TimeZone::get(zone).map_err(|error| Problem::internal(&error))
}
