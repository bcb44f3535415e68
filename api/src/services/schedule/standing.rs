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

/// What an athlete's sessions come to around some dates.
#[derive(Debug, Default)]
pub struct Standing {
    /// The sessions that count, each once.
    pub counted: Vec<Counted>,
    /// Her planned sessions, and whether they are answered.
    pub expected: Vec<ExpectedSession>,
    /// How each report stands.
    pub reports: Vec<ReportStanding>,
}

/// How one report stands.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportStanding {
    /// The report.
    pub session_id: SessionId,
    /// Its session's place among those of the athlete: reports with the same place count once.
    pub session: usize,
    /// The event it belongs to.
    pub event_id: Option<EventId>,
    /// What the session counts as; `None` where a confirmed absence sets it aside.
    pub counted: Option<domain::Counted>,
    /// What a person should look at.
    pub warnings: Vec<Code>,
}

/// What one athlete's reports and plan come to. The reports must hold everything that overlaps those
/// of interest, in the order of their starts.
pub fn of_athlete(
    athlete: AthleteId,
    reports: &[&Session],
    plan: &Plan,
) -> Result<Standing, Problem> {
    let planned = plan.of(athlete, reports);
    let slots: Vec<PlannedSlot> = planned.iter().map(planned_slot).collect();
    let reported = reports.iter().map(|report| reported_slot(report, &planned));
    let reported = reported.collect::<Result<Vec<_>, Problem>>()?;
    let mut standing = Standing::default();
    let mut places = Vec::new();
    for (place, one) in sessions(&slots, &reported).into_iter().enumerate() {
        let plan = one.planned.map(|at| planned[at]);
        let given = oldest_first(&one, reports);
        let counted = count(&given, plan)?;
        if let Some(plan) = plan.filter(|plan| plan.expected) {
            let expected = expected(athlete, plan, counted.is_some());
            standing.expected.push(expected);
        }
        for report in &given {
            standing.reports.push(ReportStanding {
                session_id: report.session_id,
                session: place,
                event_id: plan.map(|plan| plan.event.event_id),
                counted,
                warnings: warnings(&given, plan, counted.as_ref()),
            });
        }
        if let Some(counted) = counted {
            let leading = given[counted.report];
            standing
                .counted
                .push(session_that_counts(leading, &counted));
            places.push(place);
        }
    }
    standing.warn_of_overlaps(&places);
    Ok(standing)
}

impl Standing {
    /// Warns about the reports of sessions that overlap another one. `places` says where each
    /// session that counts stands among all.
    fn warn_of_overlaps(&mut self, places: &[usize]) {
        let intervals: Vec<_> = self.counted.iter().map(Counted::interval).collect();
        for (place, overlap) in places.iter().zip(overlaps(&intervals)) {
            if overlap.overlaps {
                let of_session = self.reports.iter_mut().filter(|one| one.session == *place);
                of_session.for_each(|one| one.warnings.push(Code::OverlapsOtherSession));
            }
        }
    }
}

fn planned_slot(planned: &Planned<'_>) -> PlannedSlot {
    let event = planned.event;
    PlannedSlot {
        slot: Slot {
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
    let planned = plan.filter(|plan| !plan.cancelled());
    let planned = planned.and_then(|plan| Minutes::new(plan.event.minutes.into()).ok());
    Ok(domain::counted(&reports, planned, attendance))
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

/// A planned session is answered by a report that counts, or by an absence on the list.
fn expected(athlete: AthleteId, plan: Planned<'_>, reported: bool) -> ExpectedSession {
    let Planned {
        event, attendance, ..
    } = plan;
    let absent = attendance.is_some_and(|entry| entry.status == AttendanceStatus::Absent);
    let state = match plan.cancelled() {
        true => ExpectedState::Cancelled,
        false if reported || absent => ExpectedState::Answered,
        false => ExpectedState::Open,
    };
    ExpectedSession {
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
    }
}

/// The session as totals count it: the leading report's date, start and setting, with the rating,
/// the minutes and the bounds that count.
fn session_that_counts(leading: &Session, counted: &domain::Counted) -> Counted {
    let before = leading.minutes_before_midnight;
    let before = before.and_then(|before| Minutes::new(before.into()).ok());
    Counted {
        load_date: leading.load_date,
        started_at: leading.started_at,
        minutes: counted.minutes,
        minutes_before_midnight: before.filter(|before| *before < counted.minutes),
        rpe: counted.rpe,
        setting: leading.setting,
        load: counted.load,
    }
}

fn warnings(
    given: &[&Session],
    plan: Option<Planned<'_>>,
    counted: Option<&domain::Counted>,
) -> Vec<Code> {
    let mut found = Vec::new();
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
