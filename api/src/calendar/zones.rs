//! Zones of a calendar: of the IANA database, or as the calendar itself declares them.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime, Weekday};
use jiff::tz::{Offset, TimeZone};

use super::code::{Code, Fault};
use super::component::Component;
use super::when::date_time;

/// Longest TZID that is looked up, in bytes. The names of the IANA database are far shorter.
const LONGEST: usize = 255;

/// The zones that one calendar can name.
#[derive(Debug)]
pub(super) struct Zones<'h> {
    home: &'h TimeZone,
    declared: BTreeMap<String, Declared>,
}

/// A zone as declared by a calendar, and the date from which the declaration holds.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Declared {
    zone: TimeZone,
    since: Date,
}

impl<'h> Zones<'h> {
    /// No zones yet but those of the IANA database; `home` stands in where none is named.
    pub(super) fn new(home: &'h TimeZone) -> Self {
        Self {
            home,
            declared: BTreeMap::new(),
        }
    }

    /// Takes a VTIMEZONE in, where it can be followed.
    pub(super) fn declare(&mut self, component: &Component) {
        if let (Some(tzid), Some(zone)) = (text(component, "TZID"), declaration(component)) {
            self.declared.insert(tzid.to_owned(), zone);
        }
    }

    /// The zone that stands in where none is named.
    pub(super) fn home(&self) -> &'h TimeZone {
        self.home
    }

    /// The zone of a TZID for a local time: of the IANA database, else as declared.
    pub(super) fn find(&self, tzid: &str, wall: DateTime) -> Result<TimeZone, Fault> {
        if tzid.len() > LONGEST {
            return Err(Fault::new(Code::UnknownZone, tzid));
        }
        let known = iana(tzid).or_else(|| after_prefix(tzid));
        let declared = || {
            let declared = self.declared.get(tzid)?;
            (wall.date() >= declared.since).then(|| declared.zone.clone())
        };
        let found = known.or_else(declared);
        found.ok_or_else(|| Fault::new(Code::UnknownZone, tzid))
    }
}

/// A zone of the IANA database.
fn iana(name: &str) -> Option<TimeZone> {
    if name.len() > LONGEST {
        return None;
    }
    TimeZone::get(name).ok().filter(|zone| !zone.is_unknown())
}

/// A globally unique id (RFC 5545, 3.2.19) that ends in a name of the IANA database, such as
/// /club.example/2026/Europe/Copenhagen. Common practice, no source.
fn after_prefix(tzid: &str) -> Option<TimeZone> {
    let mut tail = tzid.strip_prefix('/')?;
    while let Some((_, rest)) = tail.split_once('/') {
        if let Some(zone) = iana(rest) {
            return Some(zone);
        }
        tail = rest;
    }
    None
}

/// What a VTIMEZONE declares: the IANA zone that it names as its location, else its own offsets.
fn declaration(component: &Component) -> Option<Declared> {
    let always = |zone| Declared {
        zone,
        since: Date::MIN,
    };
    let located = text(component, "X-LIC-LOCATION").and_then(iana);
    located.map(always).or_else(|| from_offsets(component))
}

/// A part of a VTIMEZONE: an offset and from when on it holds (RFC 5545, 3.6.5).
#[derive(Debug)]
struct Observance {
    onset: DateTime,
    offset: i32,
    /// When it begins every year, as POSIX writes it; none for one that began once.
    yearly: Option<String>,
}

/// A zone from offsets, as far as POSIX can say them (IEEE Std 1003.1, 8.3, TZ): one offset all year,
/// or two that take turns by month and weekday. Parts that ended are history: what they say holds no
/// more when both others have begun.
fn from_offsets(component: &Component) -> Option<Declared> {
    let standard = observances(component, "STANDARD")?;
    let daylight = observances(component, "DAYLIGHT")?;
    let yearly = |part: &&Observance| part.yearly.is_some();
    let mut turns = standard.iter().filter(yearly);
    let mut summers = daylight.iter().filter(yearly);
    let parts = standard.len() + daylight.len();
    match (turns.next(), summers.next(), turns.next(), summers.next()) {
        (Some(winter), Some(summer), None, None) => {
            let posix = format!(
                "STD{}DST{},{},{}",
                posix_offset(winter.offset),
                posix_offset(summer.offset),
                summer.yearly.as_deref()?,
                winter.yearly.as_deref()?,
            );
            let begun = winter.onset.max(summer.onset).date().tomorrow().ok()?;
            let since = if parts == 2 { Date::MIN } else { begun };
            let zone = TimeZone::posix(&posix).ok()?;
            Some(Declared { zone, since })
        }
        (None, None, None, None) if parts == 1 => {
            let only = standard.first().or(daylight.first())?;
            let zone = TimeZone::fixed(Offset::from_seconds(only.offset).ok()?);
            Some(Declared {
                zone,
                since: Date::MIN,
            })
        }
        _ => None,
    }
}

/// The parts of a kind; none where one of them cannot be read.
fn observances(component: &Component, kind: &str) -> Option<Vec<Observance>> {
    component.within(kind).map(observance).collect()
}

fn observance(component: &Component) -> Option<Observance> {
    let onset = date_time_of_any_year(text(component, "DTSTART")?)?;
    let offset = utc_offset(text(component, "TZOFFSETTO")?)?;
    let has_dates = component.all("RDATE").next().is_some();
    let yearly = match text(component, "RRULE") {
        _ if has_dates => return None,
        Some(rule) if rule.to_ascii_uppercase().contains("UNTIL=") => None,
        Some(rule) => Some(posix_rule(rule, onset)?),
        None => None,
    };
    Some(Observance {
        onset,
        offset,
        yearly,
    })
}

/// Onsets are often said with a year long past, such as 1601.
fn date_time_of_any_year(text: &str) -> Option<DateTime> {
    let recent = || format!("1970{}", text.get(4..).unwrap_or_default());
    date_time(text).or_else(|| date_time(&recent()))
}

/// The nth or last weekday of a month as POSIX writes it: Mm.w.d/time, w being 5 for the last and d 0
/// for Sunday.
fn posix_rule(rule: &str, onset: DateTime) -> Option<String> {
    let rule = rule.to_ascii_uppercase();
    let (mut month, mut day) = (None, None);
    for part in rule.split(';') {
        match part.split_once('=')? {
            ("FREQ", "YEARLY") | ("INTERVAL", "1") | ("WKST", _) => {}
            ("BYMONTH", value) => month = value.parse::<i8>().ok(),
            ("BYDAY", value) => day = nth_weekday(value),
            _ => return None,
        }
    }
    let (week, weekday) = day?;
    Some(format!("M{}.{week}.{weekday}/{}", month?, onset.time()))
}

fn nth_weekday(value: &str) -> Option<(i8, i8)> {
    let (nth, day) = value.split_at_checked(value.len().checked_sub(2)?)?;
    let week = match nth.parse::<i8>().ok()? {
        -1 => 5,
        nth @ 1..=4 => nth,
        _ => return None,
    };
    Some((week, weekday(day)?.to_sunday_zero_offset()))
}

/// The weekday of its two letters.
pub(super) fn weekday(letters: &str) -> Option<Weekday> {
    Some(match letters {
        "MO" => Weekday::Monday,
        "TU" => Weekday::Tuesday,
        "WE" => Weekday::Wednesday,
        "TH" => Weekday::Thursday,
        "FR" => Weekday::Friday,
        "SA" => Weekday::Saturday,
        "SU" => Weekday::Sunday,
        _ => return None,
    })
}

/// Seconds east of Greenwich of +hhmm or +hhmmss (RFC 5545, 3.3.14).
fn utc_offset(text: &str) -> Option<i32> {
    let (sign, digits) = match text.split_at_checked(1)? {
        ("+", digits) => (1, digits),
        ("-", digits) => (-1, digits),
        _ => return None,
    };
    let plain = digits.bytes().all(|byte| byte.is_ascii_digit());
    let number = |part: std::ops::Range<usize>| digits.get(part)?.parse::<i32>().ok();
    let seconds = match digits.len() {
        4 => 0,
        6 => number(4..6)?,
        _ => return None,
    };
    plain.then_some(sign * (number(0..2)? * 3600 + number(2..4)? * 60 + seconds))
}

/// POSIX counts offsets west of Greenwich.
fn posix_offset(east: i32) -> String {
    let sign = if east > 0 { '-' } else { '+' };
    let west = east.abs();
    format!(
        "{sign}{:02}:{:02}:{:02}",
        west / 3600,
        west / 60 % 60,
        west % 60
    )
}

fn text<'c>(component: &'c Component, name: &str) -> Option<&'c str> {
    let property = component.one(name).ok()??;
    Some(property.value.as_str())
}

#[cfg(test)]
mod tests;
