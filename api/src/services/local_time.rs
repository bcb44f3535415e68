//! From a time as written to an instant, a place's date and its midnight.
//!
//! The load date of a session is the date at the place where it was held: as written where the
//! sender gave a numeric offset, else in the named zone, else (a bare `Z` says nothing about a
//! place) in the athlete's home zone, with a warning.

use jiff::civil::{Date, DateTime};
use jiff::fmt::temporal::{Pieces, PiecesOffset};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};
use jiff::{SignedDuration, Timestamp};

use crate::error::{Code, FieldProblem};
use crate::web::json::shorten_text;

/// The widest offset taken; no place on earth is beyond +14:00.
const WIDEST: i32 = 18 * 60 * 60;
/// The first date taken, so that a slip such as year 26 is noticed.
pub const EARLIEST: Date = jiff::civil::date(2000, 1, 1);
/// The last date taken.
pub const LATEST: Date = jiff::civil::date(2199, 12, 31);

/// A time that was understood.
#[derive(Debug, Clone)]
pub struct LocalInstant {
    /// The instant.
    pub at: Timestamp,
    /// Offset from UTC at the place, then.
    pub offset: Offset,
    /// Date at the place.
    pub date: Date,
    /// The zone, where one is known; else the offset stands for it.
    zone: TimeZone,
    /// The zone's name, where it was given.
    pub zone_name: Option<String>,
    /// Whether the home zone stood in for a missing one.
    pub assumed: bool,
}

impl LocalInstant {
    /// Minutes until the next local midnight, where `minutes` cross it. The part before midnight is
    /// rounded down to whole minutes.
    pub fn minutes_before_midnight(&self, minutes: u16) -> Option<u16> {
        let midnight = self
            .date
            .tomorrow()
            .ok()?
            .to_zoned_datetime(self.zone.clone())
            .ok()?;
        let before = midnight.timestamp().duration_since(self.at).as_mins();
        u16::try_from(before)
            .ok()
            .filter(|before| *before < minutes)
    }
}

/// Finds a zone of the IANA database by name.
pub fn zone(pointer: &str, name: &str) -> Result<TimeZone, FieldProblem> {
    let known = TimeZone::get(name).ok().filter(|zone| !zone.is_unknown());
    known.ok_or_else(|| {
        FieldProblem::new(pointer, Code::UnknownTimeZone, shorten_text(name))
            .allowed("an IANA zone name, such as Europe/Copenhagen")
    })
}

/// Reads a time. `named` is the zone that came with it; `home` the athlete's.
pub fn resolve(
    pointer: &str,
    text: &str,
    named: Option<&str>,
    home: &TimeZone,
) -> Result<LocalInstant, FieldProblem> {
    let named_zone = named.map(|name| zone("/time_zone", name)).transpose()?;
    let (civil, offset) = read(text).ok_or_else(|| invalid(pointer, text))?;
    let zone_name = named.map(str::to_owned);
    match offset {
        Some(PiecesOffset::Numeric(numeric)) => {
            let offset = numeric.offset();
            let at = offset
                .to_timestamp(civil)
                .map_err(|_| invalid(pointer, text))?;
            let zone = named_zone.unwrap_or_else(|| TimeZone::fixed(offset));
            Ok(LocalInstant {
                at,
                offset,
                date: civil.date(),
                zone,
                zone_name,
                assumed: false,
            })
        }
        Some(_) => {
            let at = Offset::UTC
                .to_timestamp(civil)
                .map_err(|_| invalid(pointer, text))?;
            let assumed = named_zone.is_none();
            let zone = named_zone.unwrap_or_else(|| home.clone());
            let offset = zone.to_offset(at);
            let date = offset.to_datetime(at).date();
            Ok(LocalInstant {
                at,
                offset,
                date,
                zone,
                zone_name,
                assumed,
            })
        }
        None => {
            let zone = named_zone.ok_or_else(|| {
                FieldProblem::new(pointer, Code::MissingZone, text)
                    .allowed("an offset, or a zone in time_zone")
            })?;
            let offset = unambiguous(pointer, text, civil, &zone)?;
            let at = offset
                .to_timestamp(civil)
                .map_err(|_| invalid(pointer, text))?;
            Ok(LocalInstant {
                at,
                offset,
                date: civil.date(),
                zone,
                zone_name,
                assumed: false,
            })
        }
    }
}

/// Reads an instant: RFC 3339 with an offset.
pub fn instant(pointer: &str, text: &str) -> Result<Timestamp, FieldProblem> {
    let offset = |offset| match offset {
        PiecesOffset::Numeric(numeric) => numeric.offset(),
        _ => Offset::UTC,
    };
    read(text)
        .and_then(|(civil, given)| offset(given?).to_timestamp(civil).ok())
        .ok_or_else(|| invalid(pointer, text))
}

/// Reads a date.
pub fn date(pointer: &str, text: &str) -> Result<Date, FieldProblem> {
    let exact = text.len() == 10;
    text.parse::<Date>().ok().filter(|_| exact).ok_or_else(|| {
        FieldProblem::new(pointer, Code::InvalidDate, shorten_text(text)).allowed("YYYY-MM-DD")
    })
}

/// Reads a date of the years 2000 to 2199: series of days begin and end with such dates, and other
/// centuries are slips.
pub fn near_date(pointer: &str, text: &str) -> Result<Date, FieldProblem> {
    let date = date(pointer, text)?;
    if (EARLIEST..=LATEST).contains(&date) {
        return Ok(date);
    }
    Err(FieldProblem::new(pointer, Code::OutOfRange, text)
        .allowed(format!("{EARLIEST} to {LATEST}")))
}

/// The parts of an RFC 3339 time whose offset may be missing.
fn read(text: &str) -> Option<(DateTime, Option<PiecesOffset>)> {
    let pieces = Pieces::parse(text).ok()?;
    let civil = pieces.date().to_datetime(pieces.time()?);
    let offset = pieces.offset();
    let plausible = match offset {
        Some(PiecesOffset::Numeric(numeric)) => numeric.offset().seconds().abs() <= WIDEST,
        _ => true,
    };
    let plain = pieces.time_zone_annotation().is_none() && !is_leap_second(text);
    (plain && plausible && civil.date() >= EARLIEST).then_some((civil, offset))
}

/// jiff reads second 60 as 59; a session report with one is a slip.
fn is_leap_second(text: &str) -> bool {
    text.get(16..19) == Some(":60")
}

fn unambiguous(
    pointer: &str,
    text: &str,
    civil: DateTime,
    zone: &TimeZone,
) -> Result<Offset, FieldProblem> {
    match zone.to_ambiguous_timestamp(civil).offset() {
        AmbiguousOffset::Unambiguous { offset } => Ok(offset),
        AmbiguousOffset::Gap { .. } => {
            Err(FieldProblem::new(pointer, Code::NonexistentLocalTime, text)
                .detail(format!(
                    "{text} does not happen there: the clocks go forward over it."
                ))
                .allowed("a local time that exists, or a time with its offset"))
        }
        AmbiguousOffset::Fold { before, after } => {
            let candidates = format!("{civil}{before} or {civil}{after}");
            Err(FieldProblem::new(pointer, Code::AmbiguousLocalTime, text)
                .detail(format!("{text} happens twice there: {candidates}."))
                .allowed(candidates))
        }
    }
}

fn invalid(pointer: &str, text: &str) -> FieldProblem {
    FieldProblem::new(pointer, Code::InvalidInstant, shorten_text(text))
        .allowed("RFC 3339, such as 2026-09-13T17:30:00+02:00, from the year 2000 on")
}

/// Whole minutes between two instants, to the nearest minute, halves up.
pub fn minutes_between(from: Timestamp, to: Timestamp) -> i64 {
    (to.duration_since(from) + SignedDuration::from_secs(30))
        .as_secs()
        .div_euclid(60)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn copenhagen() -> TimeZone {
        TimeZone::get("Europe/Copenhagen").unwrap()
    }

    fn resolved(text: &str, named: Option<&str>) -> LocalInstant {
        resolve("/started_at", text, named, &copenhagen()).unwrap()
    }

    fn refused(text: &str, named: Option<&str>) -> FieldProblem {
        resolve("/started_at", text, named, &copenhagen()).unwrap_err()
    }

    #[test]
    fn a_numeric_offset_gives_the_date_as_written() {
        let away = resolved("2026-09-27T23:30:00+01:00", None);
        assert_eq!(away.date.to_string(), "2026-09-27");
        assert!(!away.assumed);
        assert_eq!(away.minutes_before_midnight(50), Some(30));
        assert_eq!(away.minutes_before_midnight(30), None);
    }

    #[test]
    fn z_says_nothing_about_the_place() {
        let home = resolved("2026-09-27T22:30:00Z", None);
        assert_eq!(
            (home.date.to_string().as_str(), home.assumed),
            ("2026-09-28", true)
        );
        let venue = resolved("2026-09-27T22:30:00Z", Some("Atlantic/Faroe"));
        assert_eq!(
            (venue.date.to_string().as_str(), venue.assumed),
            ("2026-09-27", false)
        );
    }

    #[test]
    fn a_local_time_that_happens_twice_is_refused_with_both() {
        let error = refused("2026-10-25T02:30", Some("Europe/Copenhagen"));
        assert_eq!(error.code, Code::AmbiguousLocalTime);
        let allowed = error.allowed.unwrap();
        assert_eq!(allowed, "2026-10-25T02:30:00+02 or 2026-10-25T02:30:00+01");
    }

    #[test]
    fn a_local_time_that_does_not_happen_is_refused_without_an_instant() {
        let error = refused("2027-03-28T02:30", Some("Europe/Copenhagen"));
        assert_eq!(error.code, Code::NonexistentLocalTime);
        assert!(!error.detail.contains('+'));
    }

    #[test]
    fn what_is_not_a_time_is_refused() {
        for text in [
            "",
            "2026-02-30T10:00:00+01:00",
            "2026-09-13",
            "2026-09-13T24:00:00+02:00",
            "2026-09-13T10:00:60+02:00",
            "2026-09-13T10:00:00+25:00",
            "0026-09-13T10:00:00+02:00",
            "+10000-01-01T00:00:00Z",
            "2026-09-13T10:00:00+02:00[Europe/Copenhagen]",
            "13.09.2026 10:00",
        ] {
            assert_eq!(refused(text, None).code, Code::InvalidInstant, "{text}");
        }
        assert_eq!(refused("2026-09-13T10:00", None).code, Code::MissingZone);
        assert_eq!(
            refused("2026-09-13T10:00", Some("Europe/Atlantis")).code,
            Code::UnknownTimeZone
        );
    }

    #[test]
    fn minutes_come_from_instants_over_clock_changes() {
        let at = |text: &str| instant("", text).unwrap();
        let autumn = (
            at("2026-10-25T02:30:00+02:00"),
            at("2026-10-25T02:30:00+01:00"),
        );
        assert_eq!(minutes_between(autumn.0, autumn.1), 60);
        let spring = (
            at("2027-03-28T01:30:00+01:00"),
            at("2027-03-28T03:30:00+02:00"),
        );
        assert_eq!(minutes_between(spring.0, spring.1), 60);
    }
}
