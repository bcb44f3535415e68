//! Dates and times as a calendar says them, and how long something takes.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Span, Timestamp};

use super::bounds::{EARLIEST, LATEST};
use super::code::{Code, Fault};
use super::component::Property;
use super::instance::{RecurrenceId, Said, Start};
use super::zones::Zones;

/// A date or a time as said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct When {
    /// The local time; midnight for a date.
    pub(super) wall: DateTime,
    /// The zone it is local in: for dates and floating times the one that stands in.
    pub(super) zone: TimeZone,
    /// How it was said.
    pub(super) said: Said,
}

impl When {
    /// Reads one value of a property: DATE, or DATE-TIME in UTC, in a zone or floating (RFC 5545, 3.3.4
    /// and 3.3.5).
    pub(super) fn read(text: &str, property: &Property, zones: &Zones<'_>) -> Result<Self, Fault> {
        let fault = || Fault::new(Code::InvalidDate, &format!("{}:{text}", property.name));
        let typed = property.parameter("VALUE");
        let is_date = typed.map_or(text.len() == 8, |typed| typed.eq_ignore_ascii_case("DATE"));
        let (digits, is_utc) = match text.strip_suffix(['Z', 'z']) {
            Some(digits) => (digits, true),
            None => (text, false),
        };
        if is_date {
            let wall = date(text).ok_or_else(fault)?.to_datetime(Time::midnight());
            let zone = zones.home().clone();
            return Ok(Self {
                wall,
                zone,
                said: Said::Date,
            });
        }
        let wall = date_time(digits).ok_or_else(fault)?;
        let (zone, said) = match property.parameter("TZID") {
            _ if is_utc => (TimeZone::UTC, Said::Utc),
            Some(tzid) => (zones.find(tzid, wall)?, Said::Zone),
            None => (zones.home().clone(), Said::Floating),
        };
        Ok(Self { wall, zone, said })
    }

    /// The same at another local time.
    pub(super) fn with_wall(&self, wall: DateTime) -> Self {
        Self {
            wall,
            ..self.clone()
        }
    }

    /// Whether it is a date.
    pub(super) fn is_date(&self) -> bool {
        self.said == Said::Date
    }

    /// The instant. A time that happens twice is the first; one that the clocks jump over is taken with
    /// the offset from before (RFC 5545, 3.3.5).
    pub(super) fn at(&self) -> Result<Timestamp, Fault> {
        let at = self.zone.to_ambiguous_timestamp(self.wall).compatible();
        at.map_err(|_| Fault::new(Code::InvalidDate, &self.wall.to_string()))
    }

    /// What names an instance that was to start then.
    pub(super) fn recurrence_id(&self) -> Result<RecurrenceId, Fault> {
        if self.is_date() {
            return Ok(RecurrenceId::Date(self.wall.date()));
        }
        self.at().map(RecurrenceId::At)
    }

    /// The start of an instance then. A time in UTC says nothing about a place: it is read at home.
    pub(super) fn start(&self, home: &TimeZone) -> Result<Start, Fault> {
        let zone = match self.said {
            Said::Utc => home,
            _ => &self.zone,
        };
        Ok(Start {
            at: self.at()?,
            zone: zone.clone(),
            said: self.said,
        })
    }
}

/// How long something takes: days by the calendar, then exact time (RFC 5545, 3.3.6).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Length {
    days: i64,
    exact: SignedDuration,
}

impl Length {
    /// Reads a DURATION.
    pub(super) fn read(text: &str) -> Result<Self, Fault> {
        let fault = || Fault::new(Code::InvalidDuration, text);
        let span: Span = text.parse().map_err(|_| fault())?;
        if span.get_years() != 0 || span.get_months() != 0 {
            return Err(fault());
        }
        let days = i64::from(span.get_weeks()) * 7 + i64::from(span.get_days());
        let exact = SignedDuration::try_from(span.weeks(0).days(0)).map_err(|_| fault())?;
        Ok(Self { days, exact })
    }

    /// From a start to an end. Between times it is the exact duration, which every instance of a rule
    /// then has; between dates it is days (RFC 5545, 3.8.5.3).
    pub(super) fn between(start: &When, end: &When) -> Result<Self, Fault> {
        if start.is_date() != end.is_date() {
            return Err(Fault::new(Code::ValueTypeDiffers, "DTEND"));
        }
        if start.is_date() {
            let days = days_between(start.wall.date(), end.wall.date());
            return Ok(Self::days(days));
        }
        let exact = end.at()?.duration_since(start.at()?);
        Ok(Self { days: 0, exact })
    }

    /// Days by the calendar.
    pub(super) fn days(days: i64) -> Self {
        Self {
            days,
            exact: SignedDuration::ZERO,
        }
    }

    /// Whole minutes from a start on, to the nearest minute, halves up.
    pub(super) fn minutes(&self, start: &When) -> Result<i64, Fault> {
        let fault = || Fault::new(Code::InvalidDuration, &format!("{} days", self.days));
        let days = Span::new().try_days(self.days).map_err(|_| fault())?;
        let wall = start.wall.checked_add(days).map_err(|_| fault())?;
        let after_days = start.with_wall(wall).at()?.duration_since(start.at()?);
        let whole = after_days.checked_add(self.exact).ok_or_else(fault)?;
        Ok((whole + SignedDuration::from_secs(30))
            .as_secs()
            .div_euclid(60))
    }
}

/// Days from one date to another.
fn days_between(from: Date, to: Date) -> i64 {
    to.duration_since(from).as_hours() / 24
}

/// Reads YYYYMMDD.
pub(super) fn date(text: &str) -> Option<Date> {
    let number = |part: std::ops::Range<usize>| digits(text.get(part)?);
    let (year, month, day) = (number(0..4)?, number(4..6)?, number(6..8)?);
    let date = Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()?;
    (text.len() == 8 && (EARLIEST..=LATEST).contains(&date)).then_some(date)
}

/// Reads YYYYMMDDTHHMMSS. Second 60 is read as 59 (RFC 5545, 3.3.12).
pub(super) fn date_time(text: &str) -> Option<DateTime> {
    let (day, time) = text.split_once(['T', 't'])?;
    let number = |part: std::ops::Range<usize>| i8::try_from(digits(time.get(part)?)?).ok();
    let (hour, minute, second) = (number(0..2)?, number(2..4)?, number(4..6)?);
    let second = if second == 60 { 59 } else { second };
    let time_of_day = Time::new(hour, minute, second, 0).ok()?;
    let whole = date(day)?.to_datetime(time_of_day);
    (time.len() == 6).then_some(whole)
}

fn digits(text: &str) -> Option<i16> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|_| plain)
}
