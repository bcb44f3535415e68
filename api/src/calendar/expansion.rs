//! From the components of one UID to its instances within a window.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Span};

use super::bounds::Bounds;
use super::code::{Fault, RowProblem};
use super::dates::{Removed, originals};
use super::event::whole_minutes;
use super::instance::{Instance, RecurrenceId, Status};
use super::series::{Overrides, Row, Series};
use super::when::{Length, When};

/// Instances as they are found, with what was wrong and the work it took.
#[derive(Debug)]
pub(super) struct Expansion<'c> {
    pub(super) window: (Date, Date),
    pub(super) home: &'c TimeZone,
    pub(super) bounds: &'c Bounds,
    /// Dates followed so far.
    pub(super) spent: usize,
    pub(super) instances: Vec<Instance>,
    pub(super) problems: Vec<RowProblem>,
}

/// One instance before it is known whether it lies in the window.
struct Candidate<'s> {
    row: &'s Row,
    id: RecurrenceId,
    original: &'s When,
    start: When,
    length: Length,
}

impl Expansion<'_> {
    /// Adds the instances of a series.
    pub(super) fn add(&mut self, series: &Series) {
        let overrides = series.by_instance(&mut self.problems);
        let removed = match &series.master {
            Some(master) => Removed::of(&master.event),
            None => Ok(Removed::default()),
        };
        // A date of the master that is none is told with the master.
        let removed = removed.unwrap_or_default();
        for (id, (row, original)) in &overrides {
            if !removed.has(id, original) {
                let candidate = Candidate {
                    row,
                    id: *id,
                    original,
                    start: row.event.start.clone(),
                    length: row.event.length,
                };
                self.take(&candidate, true);
            }
        }
        let Some(master) = &series.master else { return };
        if let Err(fault) = self.add_by_rule(series, master, &overrides) {
            self.problems.push(master.problem(fault));
        }
    }

    /// Adds the instances about which nothing is said on their own.
    fn add_by_rule(
        &mut self,
        series: &Series,
        master: &Row,
        overrides: &Overrides<'_>,
    ) -> Result<(), Fault> {
        let withheld = series.withheld.iter().map(|one| Ok(series.named(one)?.0));
        let withheld = withheld.collect::<Result<BTreeSet<_>, Fault>>()?;
        let later = overrides.iter().filter(|(_, (row, _))| and_later(row));
        let later: BTreeMap<RecurrenceId, _> = later.map(|(id, one)| (*id, one)).collect();
        let shifts = later.values().map(|(row, original)| shift(row, original));
        let shifts = shifts.collect::<Result<Vec<_>, Fault>>()?;
        let span = widened(self.window, &shifts);
        let originals = originals(&master.event, span, self.bounds, &mut self.spent)?;
        let recurs = master.event.recurs() || !overrides.is_empty();
        for (id, (original, own_length)) in &originals {
            if withheld.contains(id) || overrides.contains_key(id) {
                continue;
            }
            let changed = later.range(..*id).next_back();
            let (row, start) = match changed {
                Some((_, (row, from))) => (*row, moved(row, from, original)?),
                None => (master, original.clone()),
            };
            let length = own_length.unwrap_or(row.event.length);
            let candidate = Candidate {
                row,
                id: *id,
                original,
                start,
                length,
            };
            self.take(&candidate, recurs);
        }
        Ok(())
    }

    /// Adds an instance that starts, or was to start, in the window.
    fn take(&mut self, candidate: &Candidate<'_>, recurs: bool) {
        match self.instance(candidate, recurs) {
            Ok(instance) => self.instances.extend(instance),
            Err(fault) => self.problems.push(candidate.row.problem(fault)),
        }
    }

    fn instance(&self, candidate: &Candidate<'_>, recurs: bool) -> Result<Option<Instance>, Fault> {
        let event = &candidate.row.event;
        let start = candidate.start.start(self.home)?;
        let (first, last) = self.window;
        let lies_in = |date| (first..=last).contains(&date);
        if !lies_in(start.date()) && !lies_in(candidate.original.start(self.home)?.date()) {
            return Ok(None);
        }
        let is_moved = candidate.start.recurrence_id()? != candidate.id;
        let status = match (event.is_cancelled, is_moved) {
            (true, _) => Status::Cancelled,
            (false, true) => Status::Moved,
            (false, false) => Status::Planned,
        };
        Ok(Some(Instance {
            uid: Arc::clone(&event.head.uid),
            recurrence_id: recurs.then_some(candidate.id),
            sequence: event.head.sequence,
            minutes: whole_minutes(&candidate.length, &candidate.start)?,
            start,
            status,
            text: Arc::clone(&event.text),
        }))
    }
}

/// Whether what is said about an instance holds for every later one.
fn and_later(row: &Row) -> bool {
    let original = row.event.head.original.as_ref();
    original.is_some_and(|original| original.and_later)
}

/// By how much an override moves its instance, in local time of the new start.
fn shift(row: &Row, original: &When) -> Result<SignedDuration, Fault> {
    let start = &row.event.start;
    Ok(start.wall.duration_since(local(original, &start.zone)?))
}

/// A later instance moved as one before it was (RFC 5545, 3.8.4.4).
fn moved(row: &Row, from: &When, original: &When) -> Result<When, Fault> {
    let start = &row.event.start;
    let wall = local(original, &start.zone)?.saturating_add(shift(row, from)?);
    Ok(start.with_wall(wall))
}

/// Local time in a zone; midnight of a date. In its own zone it is the time as said, also where that
/// does not happen.
fn local(when: &When, zone: &TimeZone) -> Result<DateTime, Fault> {
    if when.is_date() || when.zone == *zone {
        return Ok(when.wall);
    }
    Ok(zone.to_datetime(when.at()?))
}

/// A span of dates with those that shifts move into it, and two days for what zones differ by.
fn widened((first, last): (Date, Date), shifts: &[SignedDuration]) -> (Date, Date) {
    let none = SignedDuration::ZERO;
    let forward = shifts.iter().fold(none, |most, shift| most.max(*shift));
    let backward = shifts.iter().fold(none, |most, shift| most.min(*shift));
    let margin = Span::new().days(2);
    (
        first.saturating_sub(margin).saturating_sub(forward),
        last.saturating_add(margin).saturating_sub(backward),
    )
}
