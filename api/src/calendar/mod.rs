//! Planned sessions out of a calendar: iCalendar text (RFC 5545) to instances within a window.
//!
//! Content lines are read by `icalendar`, rules are expanded by `rrule` in local time as if it were
//! UTC, and zones are those of the rest of the service. What is wrong with one component is a problem
//! of that component, and the rest lands. Everything is bounded, so that no text takes long or fills the memory: a text is gone through
//! twice, once for its zones and once for its events, and one component of it is held at a time.

mod bounds;
mod code;
mod component;
mod dates;
mod event;
mod expansion;
mod instance;
mod lines;
pub mod mapping;
mod rule;
mod series;
mod when;
mod zones;

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;
use jiff::tz::TimeZone;

pub use bounds::{Bounds, EARLIEST, LATEST};
pub use code::{Code, Refused, RowProblem};
pub use instance::{Cancellation, Instance, RecurrenceId, Said, Start, Status, Text};

use code::{Fault, shortened};
use component::{Component, Components};
use event::{Event, Head};
use expansion::Expansion;
use series::{Row, Series};
use zones::Zones;

/// What a text says about a window of dates.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Calendar {
    /// Instances whose start, or whose original start, lies in the window, in order of start.
    pub instances: Vec<Instance>,
    /// What the text takes back, where its METHOD is CANCEL; whatever the window.
    pub cancellations: Vec<Cancellation>,
    /// Components that are not taken, in order.
    pub problems: Vec<RowProblem>,
}

/// Reads the instances within a window of dates, both included. `default_zone` stands in for dates and
/// times that come without a zone, and tells the date of those in UTC.
///
/// # Errors
/// Where the text as a whole is no calendar, is cut short or is beyond the bounds.
pub fn expand(
    text: &[u8],
    window: (Date, Date),
    default_zone: &TimeZone,
    bounds: &Bounds,
) -> Result<Calendar, Refused> {
    let (first, last) = window;
    if last < first || first < EARLIEST || last > LATEST {
        let detail = format!("{first} to {last}");
        return Err(Refused::new(Code::InvalidWindow, detail));
    }
    let read = Reading::of(text, default_zone, bounds)?;
    let mut expansion = Expansion {
        window,
        home: default_zone,
        bounds,
        spent: 0,
        instances: Vec::new(),
        problems: read.problems,
    };
    for series in read.series.into_values() {
        expansion.add(&series);
        if expansion.spent > bounds.dates || expansion.instances.len() > bounds.instances {
            return Err(too_many_instances(bounds));
        }
    }
    let (mut instances, mut problems) = (expansion.instances, expansion.problems);
    instances.sort_by_cached_key(|one| (one.start.at, Arc::clone(&one.uid), one.recurrence_id));
    problems.sort_by_key(|problem| problem.component);
    Ok(Calendar {
        instances,
        cancellations: read.cancellations,
        problems,
    })
}

/// A VCALENDAR's zones, and whether it takes events back.
type Told<'h> = (Zones<'h>, bool);

/// What every VCALENDAR of a text says about itself, in order.
fn calendars<'h>(
    text: &[u8],
    home: &'h TimeZone,
    bounds: &Bounds,
) -> Result<Vec<Told<'h>>, Refused> {
    let (mut calendars, mut zones) = (Vec::new(), Zones::new(home));
    for component in Components::named("VTIMEZONE", text, bounds)? {
        let component = component?;
        if component.name == "VTIMEZONE" {
            zones.declare(&component);
        } else {
            let cancels = check_calendar(&component)?;
            calendars.push((std::mem::replace(&mut zones, Zones::new(home)), cancels));
        }
    }
    Ok(calendars)
}

/// The events of a text as they are read.
#[derive(Debug, Default)]
struct Reading {
    series: BTreeMap<Arc<str>, Series>,
    cancellations: Vec<Cancellation>,
    problems: Vec<RowProblem>,
    /// How many VEVENTs were met.
    events: usize,
    /// How many dates were added to events or taken out of them.
    dates: usize,
}

impl Reading {
    /// Reads a text: what its calendars say about themselves first, since a zone may be declared after the events that name it.
    fn of(text: &[u8], home: &TimeZone, bounds: &Bounds) -> Result<Self, Refused> {
        let (mut read, mut calendars) =
            (Self::default(), calendars(text, home, bounds)?.into_iter());
        let mut told = calendars.next();
        for component in Components::named("VEVENT", text, bounds)? {
            let component = component?;
            match &told {
                Some(told) if component.name == "VEVENT" => read.add(&component, told, bounds)?,
                _ => told = calendars.next(),
            }
        }
        Ok(read)
    }

    /// Reads a VEVENT.
    fn add(
        &mut self,
        component: &Component,
        (zones, cancels): &Told<'_>,
        bounds: &Bounds,
    ) -> Result<(), Refused> {
        self.events += 1;
        let outcome = match Head::read(component, zones, bounds) {
            Ok(head) if *cancels => self.cancel(&head),
            Ok(head) => self.event(head, component, zones, bounds),
            Err(fault) => Err(fault),
        };
        if let Err(fault) = outcome {
            let uid = component.all("UID").next().map(|uid| uid.value.as_str());
            self.problems.push(RowProblem {
                component: self.events,
                line: component.line,
                uid: uid.map(|uid| shortened(uid, bounds.uid_bytes).into()),
                code: fault.code,
                detail: fault.detail,
            });
        }
        if self.dates > bounds.dates {
            return Err(too_many_instances(bounds));
        }
        Ok(())
    }

    fn cancel(&mut self, head: &Head) -> Result<(), Fault> {
        let original = head.original.as_ref();
        self.cancellations.push(Cancellation {
            uid: Arc::clone(&head.uid),
            recurrence_id: original.map(|one| one.start.recurrence_id()).transpose()?,
            and_later: original.is_some_and(|one| one.and_later),
            sequence: head.sequence,
        });
        Ok(())
    }

    fn event(
        &mut self,
        head: Head,
        component: &Component,
        zones: &Zones<'_>,
        bounds: &Bounds,
    ) -> Result<(), Fault> {
        let (uid, original) = (Arc::clone(&head.uid), head.original.clone());
        let series = self.series.entry(uid).or_default();
        let event = Event::read(head, component, zones, bounds).inspect_err(|_| {
            series.withheld.extend(original);
        })?;
        self.dates += event.added.len() + event.removed.len();
        self.problems.extend(series.add(Row {
            component: self.events,
            line: component.line,
            event,
        }));
        Ok(())
    }
}

fn too_many_instances(bounds: &Bounds) -> Refused {
    let most = format!("at most {} of {} dates", bounds.instances, bounds.dates);
    Refused::new(Code::TooManyInstances, most)
}

/// Checks what a calendar says about itself: whether it takes events back.
fn check_calendar(calendar: &Component) -> Result<bool, Refused> {
    let said = |name| {
        let property = calendar.all(name).next();
        property.map(|property| property.value.trim().to_ascii_uppercase())
    };
    if let Some(version) = said("VERSION").filter(|version| version != "2.0") {
        return Err(Refused::new(Code::UnsupportedVersion, version));
    }
    if let Some(scale) = said("CALSCALE").filter(|scale| scale != "GREGORIAN") {
        return Err(Refused::new(Code::UnsupportedScale, scale));
    }
    match said("METHOD").as_deref() {
        None | Some("PUBLISH" | "REQUEST") => Ok(false),
        Some("CANCEL") => Ok(true),
        Some(method) => Err(Refused::new(Code::UnsupportedMethod, method)),
    }
}

#[cfg(test)]
mod tests;
