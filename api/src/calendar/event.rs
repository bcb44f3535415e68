//! A VEVENT, checked.

use std::sync::Arc;

use jiff::civil::DateTime;

use super::bounds::Bounds;
use super::code::{Code, Fault, shortened};
use super::component::{Component, Property};
use super::instance::{RecurrenceId, Text};
use super::rule::Rule;
use super::when::{Length, When, date_time};
use super::zones::Zones;

/// Most categories kept.
const CATEGORIES: usize = 50;

/// What can be said of an event before its times are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Head {
    pub(super) uid: Arc<str>,
    pub(super) sequence: u32,
    /// When this revision was made, as it stands in DTSTAMP.
    pub(super) stamp: Option<DateTime>,
    pub(super) original: Option<Original>,
}

/// Which instance of an event a component is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Original {
    /// What names it, as said.
    pub(super) id: RecurrenceId,
    pub(super) start: When,
    /// Whether it is about every later one too (RANGE=THISANDFUTURE).
    pub(super) and_later: bool,
}

/// A checked event, or what an override says about an instance of one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Event {
    pub(super) head: Head,
    pub(super) start: When,
    pub(super) length: Length,
    pub(super) rule: Option<Rule>,
    pub(super) added: Vec<Added>,
    pub(super) removed: Vec<When>,
    pub(super) is_cancelled: bool,
    pub(super) text: Arc<Text>,
}

/// A date added to an event, with a length of its own where it is a PERIOD.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Added {
    pub(super) start: When,
    pub(super) length: Option<Length>,
}

impl Head {
    /// Reads who it is and which revision.
    pub(super) fn read(
        component: &Component,
        zones: &Zones<'_>,
        bounds: &Bounds,
    ) -> Result<Self, Fault> {
        if let Some(line) = &component.malformed {
            return Err(Fault::new(Code::MalformedLine, line));
        }
        let uid = component.one("UID")?.map(|uid| uid.value.trim());
        let uid = uid.filter(|uid| !uid.is_empty() && !uid.contains(char::is_control));
        let uid = uid.filter(|uid| uid.len() <= bounds.uid_bytes);
        let uid = uid.ok_or_else(|| Fault::new(Code::MissingUid, "UID"))?;
        let sequence = match component.one("SEQUENCE")? {
            Some(given) => {
                let fault = || Fault::new(Code::InvalidSequence, &given.value);
                given.value.trim().parse().map_err(|_| fault())?
            }
            None => 0,
        };
        let stamp = component.one("DTSTAMP")?;
        let stamp = stamp.and_then(|stamp| date_time(stamp.value.trim_end_matches('Z')));
        let original = component.one("RECURRENCE-ID")?;
        Ok(Self {
            uid: uid.into(),
            sequence,
            stamp,
            original: original.map(|one| Original::read(one, zones)).transpose()?,
        })
    }
}

impl Original {
    fn read(property: &Property, zones: &Zones<'_>) -> Result<Self, Fault> {
        let and_later = match property.parameter("RANGE") {
            None => false,
            Some(range) if range.eq_ignore_ascii_case("THISANDFUTURE") => true,
            Some(range) => return Err(Fault::new(Code::UnsupportedRange, range)),
        };
        let start = When::read(&property.value, property, zones)?;
        Ok(Self {
            id: start.recurrence_id()?,
            start,
            and_later,
        })
    }
}

impl Event {
    /// Reads the rest of an event.
    pub(super) fn read(
        head: Head,
        component: &Component,
        zones: &Zones<'_>,
        bounds: &Bounds,
    ) -> Result<Self, Fault> {
        let start = component.one("DTSTART")?;
        let start = start.ok_or_else(|| Fault::new(Code::MissingStart, "DTSTART"))?;
        let start = When::read(&start.value, start, zones)?;
        let length = length(component, &start, zones)?;
        check_length(&length, &start, bounds)?;
        let status = component.one("STATUS")?;
        let cancelled = |status: &Property| status.value.trim().eq_ignore_ascii_case("CANCELLED");
        let event = Self {
            rule: rule(component, &start, bounds)?,
            added: added(component, &start, zones, bounds)?,
            removed: removed(component, zones, bounds)?,
            is_cancelled: status.is_some_and(cancelled),
            text: Arc::new(text(component, bounds)?),
            head,
            start,
            length,
        };
        if event.head.original.is_some() && event.recurs() {
            return Err(Fault::new(Code::RuleInOverride, "RRULE or RDATE"));
        }
        Ok(event)
    }

    /// Whether it has instances to tell apart.
    pub(super) fn recurs(&self) -> bool {
        self.rule.is_some() || !self.added.is_empty()
    }
}

/// The minutes from a start on.
pub(super) fn whole_minutes(length: &Length, start: &When) -> Result<u32, Fault> {
    let minutes = length.minutes(start)?;
    let fault = |code| Fault::new(code, &format!("{minutes} minutes"));
    match u32::try_from(minutes) {
        Ok(0) => Err(fault(Code::ZeroDuration)),
        Ok(whole) => Ok(whole),
        Err(_) if minutes < 0 => Err(fault(Code::NegativeDuration)),
        Err(_) => Err(fault(Code::DurationTooLong)),
    }
}

/// Refuses a length that is none or beyond the bound.
fn check_length(length: &Length, start: &When, bounds: &Bounds) -> Result<(), Fault> {
    let minutes = whole_minutes(length, start)?;
    if minutes <= bounds.minutes {
        return Ok(());
    }
    let detail = format!("{minutes} minutes; at most {}", bounds.minutes);
    Err(Fault::new(Code::DurationTooLong, &detail))
}

/// How long: DTEND or DURATION; a date alone is one day, a time alone takes no time (RFC 5545, 3.6.1).
fn length(component: &Component, start: &When, zones: &Zones<'_>) -> Result<Length, Fault> {
    match (component.one("DTEND")?, component.one("DURATION")?) {
        (Some(_), Some(_)) => Err(Fault::new(Code::EndAndDuration, "DTEND and DURATION")),
        (Some(end), None) => Length::between(start, &When::read(&end.value, end, zones)?),
        (None, Some(duration)) => Length::read(&duration.value),
        (None, None) => Ok(Length::days(i64::from(start.is_date()))),
    }
}

fn rule(component: &Component, start: &When, bounds: &Bounds) -> Result<Option<Rule>, Fault> {
    if component.all("EXRULE").next().is_some() {
        return Err(Fault::new(Code::UnsupportedRule, "EXRULE"));
    }
    let mut rules = component.all("RRULE");
    let rule = rules.next();
    if rules.next().is_some() {
        return Err(Fault::new(Code::UnsupportedRule, "a second RRULE"));
    }
    rule.map(|rule| Rule::read(&rule.value, start, bounds))
        .transpose()
}

/// RDATE: times of the kind of the start, or periods.
fn added(
    component: &Component,
    start: &When,
    zones: &Zones<'_>,
    bounds: &Bounds,
) -> Result<Vec<Added>, Fault> {
    let mut added = Vec::new();
    for property in component.all("RDATE") {
        for value in listed(&property.value) {
            let one = match value.split_once('/') {
                Some((from, to)) => period(from, to, property, zones)?,
                None => Added {
                    start: When::read(value, property, zones)?,
                    length: None,
                },
            };
            if one.start.is_date() != start.is_date() {
                return Err(Fault::new(Code::ValueTypeDiffers, "RDATE"));
            }
            if let Some(length) = &one.length {
                check_length(length, &one.start, bounds)?;
            }
            added.push(one);
            within(added.len(), bounds, "RDATE")?;
        }
    }
    Ok(added)
}

/// A PERIOD: start and end, or start and duration (RFC 5545, 3.3.9).
fn period(from: &str, to: &str, property: &Property, zones: &Zones<'_>) -> Result<Added, Fault> {
    let time = |text| match When::read(text, property, zones) {
        Ok(when) if when.is_date() => Err(Fault::new(Code::ValueTypeDiffers, "PERIOD")),
        read => read,
    };
    let start = time(from)?;
    let length = if to.starts_with(['P', '+', '-']) {
        Length::read(to)?
    } else {
        Length::between(&start, &time(to)?)?
    };
    Ok(Added {
        start,
        length: Some(length),
    })
}

/// EXDATE. A date takes out whatever starts on it, also from an event with times.
fn removed(component: &Component, zones: &Zones<'_>, bounds: &Bounds) -> Result<Vec<When>, Fault> {
    let mut removed = Vec::new();
    for property in component.all("EXDATE") {
        for value in listed(&property.value) {
            removed.push(When::read(value, property, zones)?);
            within(removed.len(), bounds, "EXDATE")?;
        }
    }
    Ok(removed)
}

fn listed(values: &str) -> impl Iterator<Item = &str> {
    values
        .split(',')
        .map(str::trim)
        .filter(|value| !value.is_empty())
}

fn within(dates: usize, bounds: &Bounds, name: &str) -> Result<(), Fault> {
    if dates <= bounds.dates_of_a_rule {
        return Ok(());
    }
    let detail = format!("{name}; at most {}", bounds.dates_of_a_rule);
    Err(Fault::new(Code::RecurrenceTooLong, &detail))
}

fn text(component: &Component, bounds: &Bounds) -> Result<Text, Fault> {
    let kept = |name, most| -> Result<Option<String>, Fault> {
        let given = component.one(name)?.map(|given| given.value.trim());
        let given = given.filter(|given| !given.is_empty());
        Ok(given.map(|given| shortened(given, most)))
    };
    let lists = component.all("CATEGORIES");
    let categories = lists.flat_map(|list| texts_listed(&list.value, bounds.line_chars));
    Ok(Text {
        summary: kept("SUMMARY", bounds.line_chars)?,
        description: kept("DESCRIPTION", bounds.text_chars)?,
        location: kept("LOCATION", bounds.line_chars)?,
        categories: categories.take(CATEGORIES).collect(),
    })
}

/// Texts of a list, unescaped (RFC 5545, 3.3.11): a comma after a backslash does not end one.
fn texts_listed(list: &str, most: usize) -> Vec<String> {
    let (mut texts, mut text) = (Vec::new(), String::new());
    let mut characters = list.chars();
    while texts.len() < CATEGORIES {
        match characters.next() {
            None | Some(',') if !text.trim().is_empty() => {
                texts.push(shortened(text.trim(), most));
                text.clear();
            }
            None => break,
            Some(',') => text.clear(),
            Some('\\') => match characters.next() {
                Some('n' | 'N') => text.push('\n'),
                Some(escaped) => text.push(escaped),
                None => {}
            },
            Some(other) => text.push(other),
        }
    }
    texts
}

#[cfg(test)]
mod tests;
