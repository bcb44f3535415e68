//! What one athlete's reports count as, beside what was planned.
//!
//! Reports of one session, whoever sent them, count once: the athlete's rating before a guardian's
//! before a coach's, attended minutes before planned before reported ones.

use plimsoll_domain::matching::sessions;
use plimsoll_domain::{
    self as domain, Dispute, Minutes, OneSession, PlannedSlot, Report, ReportedSlot, Slot, overlaps,
};

use super::plan::{Plan, Planned, named};
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, EventId, SessionId};
use crate::services::day_totals::Counted;
use crate::services::sessions::answer;
use crate::store::attendance::Attendance;
use crate::store::expected::ExpectedSession;
use crate::store::sessions::Session;
use crate::store::{AttendanceStatus, ExpectedState};

/// One session of an athlete: what was planned of it, what was reported, and what counts.
#[derive(Debug, Clone)]
pub struct SessionStanding<'a> {
    /// What was planned.
    pub planned: Option<Planned<'a>>,
    /// Its reports, the newest rating last.
    pub reports: Vec<&'a Session>,
    /// What they count as; nothing without a report, or where a confirmed absence sets them aside.
    pub counted: Option<domain::Counted>,
    /// What a person should look at.
    pub warnings: Vec<Code>,
}

/// How one report stands.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportStanding {
    /// The report.
    pub session_id: SessionId,
    /// The event it belongs to.
    pub event_id: Option<EventId>,
    /// What its session counts as; `None` where a confirmed absence sets it aside.
    pub counted: Option<domain::Counted>,
    /// What a person should look at.
    pub warnings: Vec<Code>,
}

/// What one athlete's reports and plan come to: each session once. The reports must hold everything
/// that overlaps those of interest, in the order of their starts.
pub fn of_athlete<'a>(
    athlete: AthleteId,
    reports: &[&'a Session],
    plan: &'a Plan,
) -> Result<Vec<SessionStanding<'a>>, Problem> {
    let planned = plan.of(athlete, reports);
    let slots: Vec<PlannedSlot> = planned.iter().map(planned_slot).collect();
    let reported = reports.iter().map(|report| reported_slot(report, &planned));
    let reported = reported.collect::<Result<Vec<_>, Problem>>()?;
    let standing = |one: OneSession| {
        let planned = one.planned.map(|at| planned[at]);
        let reports = oldest_first(&one, reports);
        let counted = count(&reports, planned)?;
        Ok(SessionStanding {
            warnings: warnings(&reports, planned, counted.as_ref()),
            planned,
            reports,
            counted,
        })
    };
    let found = sessions(&slots, &reported).into_iter().map(standing);
    let mut found = found.collect::<Result<Vec<_>, Problem>>()?;
    warn_of_overlaps(&mut found);
    Ok(found)
}

/// Warns about the sessions that count and overlap another one.
fn warn_of_overlaps(found: &mut [SessionStanding<'_>]) {
    let counted = found.iter().filter_map(SessionStanding::as_counted);
    let intervals: Vec<_> = counted.map(|counted| counted.interval()).collect();
    let counting = found.iter_mut().filter(|one| one.as_counted().is_some());
    for (one, overlap) in counting.zip(overlaps(&intervals)) {
        if overlap.overlaps {
            one.warnings.push(Code::OverlapsOtherSession);
        }
    }
}

impl<'a> SessionStanding<'a> {
    /// The report whose rating counts.
    pub fn leading(&self) -> Option<&'a Session> {
        let counted = self.counted.as_ref()?;
        self.reports.get(counted.report).copied()
    }

    /// The session as totals count it: the leading report's date, start and setting, with the
    /// rating, the minutes and the bounds that count.
    pub fn as_counted(&self) -> Option<Counted> {
        let (leading, counted) = (self.leading()?, self.counted.as_ref()?);
        let before = leading.minutes_before_midnight;
        let before = before.and_then(|before| Minutes::new(before.into()).ok());
        Some(Counted {
            load_date: leading.load_date,
            started_at: leading.started_at,
            minutes: counted.minutes,
            minutes_before_midnight: before.filter(|before| *before < counted.minutes),
            rpe: counted.rpe,
            setting: leading.setting,
            load: counted.load,
        })
    }

    /// Planned minutes, of what was not called off.
    pub fn planned_minutes(&self) -> Option<Minutes> {
        planned_minutes(self.planned)
    }

    /// Minutes on the attendance list.
    pub fn attended_minutes(&self) -> Option<Minutes> {
        let entry = self.planned.and_then(|plan| plan.attendance);
        match entry.and_then(attended) {
            Some(domain::Attendance::Present(minutes)) => minutes,
            _ => None,
        }
    }

    /// The planned session as it is expected of the athlete, where it is: answered by a report that
    /// counts, or by an absence on the list.
    pub fn expected(&self, athlete: AthleteId) -> Option<ExpectedSession> {
        let plan = self.planned.filter(|plan| plan.expected)?;
        let (event, attendance) = (plan.event, plan.attendance);
        let absent = attendance.is_some_and(|entry| entry.status == AttendanceStatus::Absent);
        let state = match plan.cancelled() {
            true => ExpectedState::Cancelled,
            false if self.counted.is_some() || absent => ExpectedState::Answered,
            false => ExpectedState::Open,
        };
        Some(ExpectedSession {
            athlete_id: athlete,
            event_id: event.event_id,
            load_date: event.load_date,
            setting: event.setting,
            kind: event.kind,
            minutes: attendance
                .and_then(|entry| entry.minutes)
                .unwrap_or(event.minutes),
            starts_at: event.starts_at,
            ends_at: event.ends_at(),
            state,
        })
    }

    /// How each of its reports stands.
    pub fn of_reports(&self) -> impl Iterator<Item = ReportStanding> {
        self.reports.iter().map(|report| ReportStanding {
            session_id: report.session_id,
            event_id: self.planned.map(|plan| plan.event.event_id),
            counted: self.counted,
            warnings: self.warnings.clone(),
        })
    }
}

fn planned_slot(planned: &Planned<'_>) -> PlannedSlot {
    let event = planned.event;
    PlannedSlot {
        slot: Slot {
            date: event.load_date,
            start: event.starts_at.as_second(),
            end: event.ends_at().as_second(),
            setting: event.setting,
        },
        cancelled: planned.cancelled(),
    }
}

fn reported_slot<'a>(
    report: &'a Session,
    planned: &[Planned<'_>],
) -> Result<ReportedSlot<&'a str>, Problem> {
    let start = report.started_at.as_second();
    Ok(ReportedSlot {
        slot: Slot {
            date: report.load_date,
            start,
            end: start + i64::from(answer::minutes(report)?.get()) * 60,
            setting: report.setting,
        },
        named: named(report, planned),
        source: &report.source,
    })
}

/// The reports of a session, the newest rating last.
fn oldest_first<'a>(one: &OneSession, reports: &[&'a Session]) -> Vec<&'a Session> {
    let mut given: Vec<&Session> = one.reports.iter().map(|at| reports[*at]).collect();
    given.sort_by_key(|report| (report.given_at, report.session_id));
    given
}

/// What the reports of one session count as. A session that was called off has no planned minutes.
fn count(
    given: &[&Session],
    plan: Option<Planned<'_>>,
) -> Result<Option<domain::Counted>, Problem> {
    let reports = given.iter().map(|report| {
        Ok(Report {
            rpe: answer::rpe(report)?,
            minutes: answer::minutes(report)?,
            basis: report.basis,
            given_by: report.given_by,
        })
    });
    let reports = reports.collect::<Result<Vec<_>, Problem>>()?;
    let attendance = plan.and_then(|plan| plan.attendance).and_then(attended);
    Ok(domain::counted(&reports, planned_minutes(plan), attendance))
}

fn planned_minutes(plan: Option<Planned<'_>>) -> Option<Minutes> {
    let planned = plan.filter(|plan| !plan.cancelled());
    planned.and_then(|plan| Minutes::new(plan.event.minutes.into()).ok())
}

/// What the attendance list says, in the domain's terms; nothing where nobody can say.
fn attended(entry: &Attendance) -> Option<domain::Attendance> {
    let minutes = entry
        .minutes
        .and_then(|minutes| Minutes::new(minutes.into()).ok());
    match entry.status {
        AttendanceStatus::Present | AttendanceStatus::Partial => {
            Some(domain::Attendance::Present(minutes))
        }
        AttendanceStatus::Absent => Some(domain::Attendance::Absent {
            confirmed: entry.confirmed,
        }),
        AttendanceStatus::Unknown => None,
    }
}

fn warnings(
    given: &[&Session],
    plan: Option<Planned<'_>>,
    counted: Option<&domain::Counted>,
) -> Vec<Code> {
    let mut found = Vec::new();
    if given.is_empty() {
        return found;
    }
    if plan.is_some_and(|plan| plan.cancelled()) {
        found.push(Code::EventCancelled);
    }
    if plan.is_none() && given.len() > 1 {
        found.push(Code::ProposedDuplicate);
    }
    match counted.map(|counted| counted.dispute) {
        None => found.push(Code::SetAside),
        Some(Some(Dispute::Minutes)) => found.push(Code::MinutesDiffer),
        Some(Some(Dispute::Absent)) => found.push(Code::ReportedThoughAbsent),
        Some(None) => {}
    }
    found
}
