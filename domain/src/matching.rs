//! Which reports and planned sessions are one and the same session.
//!
//! A report belongs to the planned session it names. Otherwise it belongs to one of the same
//! setting that starts within 15 minutes of it, where the two overlap for at least half of the
//! shorter. Reports of different sources without a planned session are one session by the same
//! test: proposed duplicates, counted once and shown to a person. Common practice, no source.
//!
//! What is one session has one load date. So what a date comes to depends on that date's plan and
//! reports alone, and a change can be followed through without looking at the whole record.

use jiff::civil::Date;

use crate::session::Setting;

/// Starts of one session may differ by this many seconds.
const START_TOLERANCE: u64 = 15 * 60;

/// When a session took place and who ran it; instants in seconds of any one scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// Load date.
    pub date: Date,
    /// Start, included.
    pub start: i64,
    /// End, excluded.
    pub end: i64,
    /// Who ran it.
    pub setting: Setting,
}

impl Slot {
    /// Whether the two may be one session: same load date and setting, starts within 15 minutes, and
    /// an overlap of at least half of the shorter.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use plimsoll_domain::{Setting, Slot};
    /// let planned = Slot { date: date(2026, 9, 8), start: 0, end: 90 * 60, setting: Setting::Club };
    /// let reported = Slot { start: 10 * 60, end: 85 * 60, ..planned };
    /// assert!(planned.is_same_session(&reported));
    /// ```
    #[must_use]
    pub fn is_same_session(&self, other: &Slot) -> bool {
        let overlap = self.end.min(other.end) - self.start.max(other.start);
        let shorter = (self.end - self.start).min(other.end - other.start);
        self.date == other.date
            && self.setting == other.setting
            && self.start.abs_diff(other.start) <= START_TOLERANCE
            && 2 * overlap >= shorter
    }
}

/// A planned session of one athlete.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlannedSlot {
    /// When, and who runs it.
    pub slot: Slot,
    /// It was called off.
    pub cancelled: bool,
}

/// A report of one athlete.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReportedSlot<S> {
    /// When, and who ran it.
    pub slot: Slot,
    /// The planned session it names, by its place in the list.
    pub named: Option<usize>,
    /// Which system it came from.
    pub source: S,
}

/// One session: what was planned of it and what was reported, by their places in the lists.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OneSession {
    /// The planned session.
    pub planned: Option<usize>,
    /// The reports, in the order given.
    pub reports: Vec<usize>,
}

/// The sessions that one athlete's plan and reports are about: each planned one in its order, with
/// its reports or without any, then the others in the order of their first report.
#[must_use]
pub fn sessions<S: PartialEq>(
    planned: &[PlannedSlot],
    reports: &[ReportedSlot<S>],
) -> Vec<OneSession> {
    let mut found: Vec<OneSession> = (0..planned.len())
        .map(|at| OneSession {
            planned: Some(at),
            reports: Vec::new(),
        })
        .collect();
    for (at, report) in reports.iter().enumerate() {
        let planned_at = report.named.or_else(|| nearest(planned, &report.slot));
        let place = planned_at.or_else(|| twin(&found, reports, report));
        match place.and_then(|place| found.get_mut(place)) {
            Some(session) => session.reports.push(at),
            None => found.push(OneSession {
                planned: None,
                reports: vec![at],
            }),
        }
    }
    found
}

/// The planned session a report belongs to by time: one that was held rather than one called off,
/// then the nearest start, then the first in the list.
fn nearest(planned: &[PlannedSlot], report: &Slot) -> Option<usize> {
    let fits = |(_, plan): &(usize, &PlannedSlot)| plan.slot.is_same_session(report);
    planned
        .iter()
        .enumerate()
        .filter(fits)
        .min_by_key(|(at, plan)| (plan.cancelled, plan.slot.start.abs_diff(report.start), *at))
        .map(|(at, _)| at)
}

/// A session without a plan that other sources reported already.
fn twin<S: PartialEq>(
    found: &[OneSession],
    reports: &[ReportedSlot<S>],
    report: &ReportedSlot<S>,
) -> Option<usize> {
    let same = |session: &OneSession| {
        let others = session.reports.iter().map(|at| &reports[*at]);
        session.planned.is_none()
            && others.clone().all(|other| other.source != report.source)
            && others
                .take(1)
                .any(|first| first.slot.is_same_session(&report.slot))
    };
    found.iter().position(same)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slot(start: i64, minutes: i64) -> Slot {
        Slot {
            date: jiff::civil::date(2026, 9, 8),
            start: start * 60,
            end: (start + minutes) * 60,
            setting: Setting::Club,
        }
    }

    fn plan(start: i64, minutes: i64) -> PlannedSlot {
        PlannedSlot {
            slot: slot(start, minutes),
            cancelled: false,
        }
    }

    fn report(source: &str, start: i64, minutes: i64) -> ReportedSlot<&str> {
        ReportedSlot {
            slot: slot(start, minutes),
            named: None,
            source,
        }
    }

    fn of(planned: &[PlannedSlot], reports: &[ReportedSlot<&str>]) -> Vec<Vec<usize>> {
        let found = sessions(planned, reports);
        found.into_iter().map(|one| one.reports).collect()
    }

    #[test]
    fn fifteen_minutes_and_half_of_the_shorter() {
        let planned = slot(0, 90);
        assert!(planned.is_same_session(&slot(15, 60)));
        assert!(!planned.is_same_session(&slot(16, 60)));
        assert!(planned.is_same_session(&slot(-15, 30)), "15 of 30 minutes");
        assert!(!planned.is_same_session(&slot(-15, 29)));
        let school = Slot {
            setting: Setting::SchoolTeam,
            ..planned
        };
        assert!(!planned.is_same_session(&school));
        let after_midnight = Slot {
            date: jiff::civil::date(2026, 9, 9),
            ..planned
        };
        assert!(!planned.is_same_session(&after_midnight));
    }

    #[test]
    fn a_report_belongs_to_the_plan_it_names_whenever_it_was() {
        let named = ReportedSlot {
            named: Some(1),
            ..report("app", 0, 90)
        };
        assert_eq!(
            of(&[plan(0, 90), plan(300, 90)], &[named]),
            [vec![], vec![0]]
        );
    }

    #[test]
    fn by_time_the_nearest_plan_is_meant_and_one_called_off_last() {
        let planned = [plan(0, 60), plan(10, 60)];
        assert_eq!(of(&planned, &[report("app", 8, 60)]), [vec![], vec![0]]);
        let called_off = PlannedSlot {
            cancelled: true,
            ..plan(8, 60)
        };
        let planned = [called_off, plan(20, 60)];
        assert_eq!(of(&planned, &[report("app", 8, 60)]), [vec![], vec![0]]);
        assert_eq!(of(&[called_off], &[report("app", 8, 60)]), [vec![0]]);
    }

    #[test]
    fn other_sources_reports_without_a_plan_are_one_session() {
        let reports = [
            report("app", 0, 90),
            report("watch", 5, 80),
            report("app", 3, 90),
            report("sheet", 10, 90),
        ];
        assert_eq!(of(&[], &reports), [vec![0, 1, 3], vec![2]]);
    }

    #[test]
    fn every_source_belongs_to_one_plan() {
        let reports = [report("app", 0, 75), report("app", 0, 90)];
        assert_eq!(of(&[plan(0, 90)], &reports), [vec![0, 1]]);
        assert_eq!(of(&[plan(0, 90)], &[]), [Vec::<usize>::new()]);
    }
}
