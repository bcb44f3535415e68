//! An event with what is said about single instances of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::code::{Code, Fault, RowProblem};
use super::event::{Event, Original};
use super::instance::RecurrenceId;
use super::when::When;

/// A component that was read, and where.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub(super) component: usize,
    pub(super) line: usize,
    pub(super) event: Event,
}

/// The components of one UID.
#[derive(Debug, Default)]
pub(super) struct Series {
    /// What is said about every instance.
    pub(super) master: Option<Row>,
    /// What is said about single ones, by the instance as said.
    pub(super) overrides: BTreeMap<RecurrenceId, Row>,
    /// Single ones about which something was said that is not taken: they are withheld, since they do
    /// not take place as the rule says.
    pub(super) withheld: Vec<Original>,
}

/// Overrides by the instance they are of, each with the original start of that.
pub(super) type Overrides<'s> = BTreeMap<RecurrenceId, (&'s Row, When)>;

impl Row {
    /// A problem of this component.
    pub(super) fn problem(&self, fault: Fault) -> RowProblem {
        RowProblem {
            component: self.component,
            line: self.line,
            uid: Some(Arc::clone(&self.event.head.uid)),
            code: fault.code,
            detail: fault.detail,
        }
    }

    /// Of two revisions the newer: by SEQUENCE, then by DTSTAMP (RFC 5546, 2.1.5). Where these do not
    /// tell, the first stays, and other content is a problem.
    fn newer(self, other: Self) -> (Self, Option<RowProblem>) {
        let revision = |row: &Self| (row.event.head.sequence, row.event.head.stamp);
        if revision(&other) > revision(&self) {
            return (other, None);
        }
        let is_doubtful = revision(&other) == revision(&self) && other.event != self.event;
        let fault = Fault::new(Code::DuplicateUid, &other.event.head.uid);
        let problem = is_doubtful.then(|| other.problem(fault));
        (self, problem)
    }
}

impl Series {
    /// Takes a component in.
    pub(super) fn add(&mut self, row: Row) -> Option<RowProblem> {
        let id = row.event.head.original.as_ref().map(|original| original.id);
        let known = match &id {
            None => self.master.take(),
            Some(id) => self.overrides.remove(id),
        };
        let (row, problem) = match known {
            Some(known) => known.newer(row),
            None => (row, None),
        };
        match id {
            None => self.master = Some(row),
            Some(id) => {
                self.overrides.insert(id, row);
            }
        }
        problem
    }

    /// What names the instance that an original start is of, and that start as the event says it. Where
    /// an override names a date and the event has times, or the reverse, the event's kind is taken.
    /// Common practice, no source.
    pub(super) fn named(&self, original: &Original) -> Result<(RecurrenceId, When), Fault> {
        let said = &original.start;
        let start = match self.master.as_ref().map(|master| &master.event.start) {
            Some(start) if start.is_date() != said.is_date() => {
                let day = said.wall.date();
                start.with_wall(day.to_datetime(start.wall.time()))
            }
            _ => said.clone(),
        };
        Ok((start.recurrence_id()?, start))
    }

    /// Overrides by the instance they are of; a problem for each that names none.
    pub(super) fn by_instance(&self, problems: &mut Vec<RowProblem>) -> Overrides<'_> {
        let mut named = BTreeMap::new();
        for row in self.overrides.values() {
            let Some(original) = &row.event.head.original else {
                continue;
            };
            match self.named(original) {
                Ok((id, start)) => {
                    named.insert(id, (row, start));
                }
                Err(fault) => problems.push(row.problem(fault)),
            }
        }
        named
    }
}
