//! The original starts of an event: its own, those of its rule and those added, without those removed.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::bounds::Bounds;
use super::code::{Code, Fault};
use super::event::Event;
use super::instance::RecurrenceId;
use super::rule::Rule;
use super::when::{Length, When};

/// What a search that finds no date is counted as: about the work of as many dates.
const VAIN_SEARCH: usize = 50_000;

/// Original starts by what names them, each with a length of its own where it has one.
pub(super) type Originals = BTreeMap<RecurrenceId, (When, Option<Length>)>;

/// The dates that an event does not take place on.
#[derive(Debug, Default)]
pub(super) struct Removed {
    instances: BTreeSet<RecurrenceId>,
    days: BTreeSet<Date>,
}

impl Removed {
    /// EXDATE of an event.
    pub(super) fn of(event: &Event) -> Result<Self, Fault> {
        let mut removed = Self::default();
        for one in &event.removed {
            if one.is_date() || event.start.is_date() {
                removed.days.insert(one.wall.date());
            } else {
                removed.instances.insert(one.recurrence_id()?);
            }
        }
        Ok(removed)
    }

    /// Whether an original start is among them.
    pub(super) fn has(&self, id: &RecurrenceId, start: &When) -> bool {
        self.instances.contains(id) || self.days.contains(&start.wall.date())
    }
}

/// The original starts within a span of dates, `spent` counting the work. DTSTART is the first of them
/// whether or not the rule gives it; RFC 5545, 3.8.5.3, leaves that open where it does not.
pub(super) fn originals(
    event: &Event,
    span: (Date, Date),
    bounds: &Bounds,
    spent: &mut usize,
) -> Result<Originals, Fault> {
    let mut found = Originals::new();
    found.insert(event.start.recurrence_id()?, (event.start.clone(), None));
    if let Some(rule) = &event.rule {
        of_rule(rule, &event.start, span, bounds, spent, &mut found)?;
    }
    for added in &event.added {
        *spent += 1;
        let entry = found.entry(added.start.recurrence_id()?);
        let (_, length) = entry.or_insert_with(|| (added.start.clone(), None));
        *length = added.length.or(*length);
    }
    let removed = Removed::of(event)?;
    found.retain(|id, (start, _)| !removed.has(id, start));
    Ok(found)
}

/// Follows a rule from its start to the end of a span.
fn of_rule(
    rule: &Rule,
    start: &When,
    (first, last): (Date, Date),
    bounds: &Bounds,
    spent: &mut usize,
    found: &mut Originals,
) -> Result<(), Fault> {
    let mut counted = 0;
    for wall in rule.dates().walls() {
        let one = start.with_wall(wall);
        if wall.date() > last || rule.has_ended(one.at()?) {
            return Ok(());
        }
        counted += 1;
        *spent += 1;
        if counted > bounds.dates_of_a_rule {
            let detail = format!("more than {} dates up to {last}", bounds.dates_of_a_rule);
            return Err(Fault::new(Code::RecurrenceTooLong, &detail));
        }
        if wall.date() >= first {
            found.insert(one.recurrence_id()?, (one, None));
        }
    }
    if rule.count() == Some(counted) {
        return Ok(());
    }
    *spent += VAIN_SEARCH;
    let detail = format!("no date after the first {counted}");
    Err(Fault::new(Code::RecurrenceUnbounded, &detail))
}
