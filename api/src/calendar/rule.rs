//! Recurrence rules: checked as RFC 5545, 3.3.10 demands, then expanded in local time.

use chrono::{Datelike, TimeZone as _, Timelike};
use jiff::Timestamp;
use jiff::civil::DateTime;
use rrule::{RRule, RRuleSet, Tz, Unvalidated};

use super::bounds::Bounds;
use super::code::{Code, Fault};
use super::when::{When, date, date_time};
use super::zones::weekday;

/// Longest rule, in bytes; lists of every day of a year fit.
const LONGEST: usize = 2_000;
/// Widest INTERVAL.
const WIDEST: u32 = 999;
/// Most times a day.
const TIMES_A_DAY: usize = 24;

/// Rules are expanded so many years later: the calendar repeats itself every 400 years, weekdays
/// included, and the last year of `rrule`, 10,000, then soon ends a search that finds nothing.
const LATER: i16 = 18 * 400;

/// How often a rule begins anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Frequency {
    Daily,
    Weekly,
    Monthly,
    Yearly,
}

/// A checked RRULE. It is kept as text, which is a tenth of what it is made into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Rule {
    /// The rule without UNTIL.
    text: String,
    from: DateTime,
    /// The last instant at which an instance may start.
    until: Option<Timestamp>,
    /// How many instances it gives, where it says so.
    count: Option<usize>,
}

/// The parts of a rule as written, in capitals.
#[derive(Debug)]
struct Parts<'r>(Vec<(&'r str, &'r str)>);

impl Rule {
    /// Checks a rule that begins at a start.
    pub(super) fn read(text: &str, start: &When, bounds: &Bounds) -> Result<Self, Fault> {
        let unsupported = || Fault::new(Code::UnsupportedRule, text);
        if text.len() > LONGEST {
            return Err(unsupported());
        }
        let text = text.to_ascii_uppercase();
        let mut parts = Parts::read(&text).ok_or_else(unsupported)?;
        if start.is_date() {
            parts.drop_times();
        }
        let frequency = parts.frequency().ok_or_else(unsupported)?;
        if !parts.are_in_range() || !parts.fit(frequency) {
            return Err(unsupported());
        }
        let count = parts.bounded_count(bounds)?;
        let until = parts.until(start)?;
        let text = parts.rewritten();
        made(&text, start.wall).ok_or_else(unsupported)?;
        Ok(Self {
            text,
            from: start.wall,
            until,
            count,
        })
    }

    /// What gives its dates.
    pub(super) fn dates(&self) -> Dates {
        Dates(made(&self.text, self.from))
    }

    /// Whether UNTIL is before an instance.
    pub(super) fn has_ended(&self, start: Timestamp) -> bool {
        self.until.is_some_and(|until| until < start)
    }

    /// How many instances the rule gives, where it says so.
    pub(super) fn count(&self) -> Option<usize> {
        self.count
    }
}

/// What gives the dates of a rule.
#[derive(Debug)]
pub(super) struct Dates(Option<RRuleSet>);

impl Dates {
    /// Local times at which the rule gives an instance, in order, without regard to UNTIL.
    pub(super) fn walls(&self) -> impl Iterator<Item = DateTime> {
        self.0.iter().flatten().map_while(as_wall)
    }
}

fn made(text: &str, from: DateTime) -> Option<RRuleSet> {
    let rule = text.parse::<RRule<Unvalidated>>().ok()?;
    Some(rule.build(as_utc(from)?).ok()?.limit())
}

impl<'r> Parts<'r> {
    /// The parts, each of a known name and no more than once.
    fn read(text: &'r str) -> Option<Self> {
        let mut parts: Vec<(&str, &str)> = Vec::new();
        for part in text.trim().trim_end_matches(';').split(';') {
            let (name, value) = part.split_once('=')?;
            if parts.iter().any(|(known, _)| *known == name) {
                return None;
            }
            parts.push((name, value));
        }
        Some(Self(parts))
    }

    fn get(&self, name: &str) -> Option<&'r str> {
        let found = self.0.iter().find(|(known, _)| *known == name);
        found.map(|(_, value)| *value)
    }

    fn has(&self, name: &str) -> bool {
        self.get(name).is_some()
    }

    /// A rule of dates gives no times: these parts are passed over.
    fn drop_times(&mut self) {
        self.0
            .retain(|(name, _)| !matches!(*name, "BYHOUR" | "BYMINUTE" | "BYSECOND"));
    }

    /// How often; none for more often than daily.
    fn frequency(&self) -> Option<Frequency> {
        Some(match self.get("FREQ")? {
            "DAILY" => Frequency::Daily,
            "WEEKLY" => Frequency::Weekly,
            "MONTHLY" => Frequency::Monthly,
            "YEARLY" => Frequency::Yearly,
            _ => return None,
        })
    }

    /// Whether every part is known and every value within its range.
    fn are_in_range(&self) -> bool {
        self.0.iter().all(|(name, value)| match *name {
            "FREQ" | "UNTIL" => true,
            "COUNT" => unsigned(value).is_some_and(|count| count > 0),
            "INTERVAL" => unsigned(value).is_some_and(|every| (1..=WIDEST).contains(&every)),
            "WKST" => weekday(value).is_some(),
            "BYDAY" => value.split(',').all(|day| nth_day(day).is_some()),
            "BYMONTH" => numbers(value, 1, 12),
            "BYMONTHDAY" => signed_numbers(value, 31),
            "BYYEARDAY" | "BYSETPOS" => signed_numbers(value, 366),
            "BYWEEKNO" => signed_numbers(value, 53),
            "BYHOUR" => numbers(value, 0, 23),
            "BYMINUTE" | "BYSECOND" => numbers(value, 0, 59),
            _ => false,
        })
    }

    /// Whether the parts may occur together (RFC 5545, 3.3.10).
    fn fit(&self, frequency: Frequency) -> bool {
        use Frequency::{Daily, Monthly, Weekly, Yearly};
        let nth = |day| nth_day(day).is_some_and(|nth| nth != 0);
        let has_nth = self
            .get("BYDAY")
            .is_some_and(|days| days.split(',').any(nth));
        let nth_fits = match frequency {
            Daily | Weekly => false,
            Monthly => true,
            Yearly => !self.has("BYWEEKNO"),
        };
        let selects = |(name, _): &(&str, &str)| name.starts_with("BY") && *name != "BYSETPOS";
        (!has_nth || nth_fits)
            && (!self.has("BYMONTHDAY") || frequency != Weekly)
            && (!self.has("BYYEARDAY") || frequency == Yearly)
            && (!self.has("BYWEEKNO") || frequency == Yearly)
            && (!self.has("BYSETPOS") || self.0.iter().any(selects))
            && !(self.has("COUNT") && self.has("UNTIL"))
    }

    /// COUNT within the bound, as are the times a day.
    fn bounded_count(&self, bounds: &Bounds) -> Result<Option<usize>, Fault> {
        let listed = |name| self.get(name).map_or(1, |values| values.split(',').count());
        let times = listed("BYHOUR") * listed("BYMINUTE") * listed("BYSECOND");
        if times > TIMES_A_DAY {
            let detail = format!("{times} times a day; at most {TIMES_A_DAY}");
            return Err(Fault::new(Code::RecurrenceTooLong, &detail));
        }
        let count = self.get("COUNT").and_then(|count| count.parse().ok());
        if count.is_some_and(|count: usize| count > bounds.dates_of_a_rule) {
            let detail = format!("COUNT; at most {}", bounds.dates_of_a_rule);
            return Err(Fault::new(Code::RecurrenceTooLong, &detail));
        }
        Ok(count)
    }

    /// UNTIL as an instant. A time without Z is taken as local; a date for a start with a time as the
    /// whole local day, though RFC 5545 wants both to be of a kind. Common practice, no source.
    fn until(&self, start: &When) -> Result<Option<Timestamp>, Fault> {
        let Some(text) = self.get("UNTIL") else {
            return Ok(None);
        };
        let fault = || Fault::new(Code::InvalidDate, &format!("UNTIL={text}"));
        let day = text.get(..8).and_then(date).ok_or_else(fault)?;
        let until = if start.is_date() {
            start.with_wall(day.at(0, 0, 0, 0)).at()?
        } else if text.len() == 8 {
            start.with_wall(day.at(23, 59, 59, 0)).at()?
        } else if let Some(utc) = text.strip_suffix('Z') {
            let utc = date_time(utc).ok_or_else(fault)?;
            jiff::tz::Offset::UTC
                .to_timestamp(utc)
                .map_err(|_| fault())?
        } else {
            let wall = date_time(text).ok_or_else(fault)?;
            start.with_wall(wall).at()?
        };
        if until < start.at()? {
            return Err(Fault::new(Code::UntilBeforeStart, text));
        }
        Ok(Some(until))
    }

    /// The rule without UNTIL, which is ours to follow: it is an instant, and a local time can be two.
    fn rewritten(&self) -> String {
        let parts = self.0.iter().filter(|(name, _)| *name != "UNTIL");
        let parts = parts.map(|(name, value)| format!("{name}={value}"));
        parts.collect::<Vec<_>>().join(";")
    }
}

/// The number before a weekday, 0 where there is none.
fn nth_day(text: &str) -> Option<i16> {
    let (nth, day) = text.split_at_checked(text.len().checked_sub(2)?)?;
    weekday(day)?;
    if nth.is_empty() {
        return Some(0);
    }
    nth.parse()
        .ok()
        .filter(|nth: &i16| (1..=53).contains(&nth.abs()))
}

fn unsigned(text: &str) -> Option<u32> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|_| plain)
}

fn numbers(list: &str, from: u32, to: u32) -> bool {
    let fits = |text| unsigned(text).is_some_and(|number| (from..=to).contains(&number));
    list.split(',').all(fits)
}

/// Whether each number is from 1 on, or counted from the end.
fn signed_numbers(list: &str, most: i16) -> bool {
    let fits = |text: &str| {
        let number = text.parse::<i16>();
        number.is_ok_and(|number| number != 0 && (-most..=most).contains(&number))
    };
    list.split(',').all(fits)
}

/// A local time as if it were in UTC, years later.
fn as_utc(wall: DateTime) -> Option<chrono::DateTime<Tz>> {
    let part = |part: i8| u32::try_from(part).ok();
    Tz::UTC
        .with_ymd_and_hms(
            i32::from(wall.year() + LATER),
            part(wall.month())?,
            part(wall.day())?,
            part(wall.hour())?,
            part(wall.minute())?,
            part(wall.second())?,
        )
        .single()
}

/// The local time again.
fn as_wall(utc: chrono::DateTime<Tz>) -> Option<DateTime> {
    let part = |part: u32| i8::try_from(part).ok();
    DateTime::new(
        i16::try_from(utc.year()).ok()? - LATER,
        part(utc.month())?,
        part(utc.day())?,
        part(utc.hour())?,
        part(utc.minute())?,
        part(utc.second())?,
        0,
    )
    .ok()
}

#[cfg(test)]
mod tests;
