//! One session as several sources saw it: what counts, and what is disputed.
//!
//! - Rating: the athlete's before the guardian's before the coach's; the newest of the same giver. A
//!   set-aside rating is kept, never used. Players' own ratings track heart-rate load and coaches'
//!   ratings do not (Lupo C, et al. 2020, Int J Sports Physiol Perform 15(4):548-553).
//! - Minutes: measured attendance before the schedule before an estimate; but an athlete who says
//!   that she took part in fewer minutes is believed before the schedule.
//! - Minutes that differ by more than 10 and by more than a tenth of the larger are listed for a
//!   person, and the range of every rating x minutes goes into the bounds.

use crate::coded::coded_enum;
use crate::figure::Bounds;
use crate::load::Load;
use crate::session::{Basis, GivenBy};
use crate::units::{Minutes, Rpe};

/// What one person reported of the session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Report {
    /// Session RPE.
    pub rpe: Rpe,
    /// Minutes as reported.
    pub minutes: Minutes,
    /// What the minutes cover.
    pub basis: Basis,
    /// Who gave it.
    pub given_by: GivenBy,
}

/// What the attendance list says of an athlete.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Attendance {
    /// There, with the minutes where they were measured.
    Present(Option<Minutes>),
    /// Not there. Confirmed, it sets a report aside; unconfirmed, the report counts and is listed.
    Absent {
        /// A coach confirmed it after seeing the athlete's report.
        confirmed: bool,
    },
}

coded_enum! {
    /// Where the minutes that count come from.
    MinutesFrom {
        /// The report itself.
        Report = "report",
        /// The scheduled session.
        Schedule = "schedule",
        /// The attendance list.
        Attendance = "attendance",
    }
}

coded_enum! {
    /// Why a person should look at a session.
    Dispute {
        /// The sources' minutes differ too much.
        Minutes = "minutes_differ",
        /// The list says absent, the athlete reports.
        Absent = "reported_though_absent",
    }
}

/// What counts of a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counted {
    /// Which report's rating counts, by its place in the list.
    pub report: usize,
    /// Session RPE that counts.
    pub rpe: Rpe,
    /// Minutes that count.
    pub minutes: Minutes,
    /// Where they come from.
    pub from: MinutesFrom,
    /// Load that counts; the bounds are the disputed range where there is one.
    pub load: Bounds<Load>,
    /// Why a person should look at it.
    pub dispute: Option<Dispute>,
}

/// What counts of the reports of one session, oldest first. `None` where there is no report, or
/// where a confirmed absence sets all of them aside.
///
/// ```
/// use plimsoll_domain::{Attendance, Basis, GivenBy, Minutes, Report, Rpe, counted};
/// let minutes = |minutes| Minutes::new(minutes).unwrap();
/// let report = Report {
///     rpe: Rpe::from_f64(6.5).unwrap(),
///     minutes: minutes(75),
///     basis: Basis::WholeSession,
///     given_by: GivenBy::Athlete,
/// };
/// let attendance = Some(Attendance::Present(Some(minutes(85))));
/// let counted = counted(&[report], Some(minutes(90)), attendance).unwrap();
/// assert_eq!(counted.load.point.to_au(), 552.5);
/// ```
#[must_use]
pub fn counted(
    reports: &[Report],
    planned: Option<Minutes>,
    attendance: Option<Attendance>,
) -> Option<Counted> {
    if attendance == Some(Attendance::Absent { confirmed: true }) {
        return None;
    }
    // The last of the highest standing: `max_by_key` keeps the later of equals.
    let (report, leading) = reports
        .iter()
        .enumerate()
        .max_by_key(|(_, report)| standing(report.given_by))?;
    let measured = match attendance {
        Some(Attendance::Present(minutes)) => minutes,
        _ => None,
    };
    let (minutes, from) = minutes_that_count(leading, planned, measured);
    let point = Load::of(leading.rpe, minutes);
    let sources: Vec<Minutes> = reports
        .iter()
        .map(|report| report.minutes)
        .chain(planned)
        .chain(measured)
        .collect();
    let differ = differ(&sources);
    let dispute = match attendance {
        _ if differ => Some(Dispute::Minutes),
        Some(Attendance::Absent { .. }) => Some(Dispute::Absent),
        _ => None,
    };
    Some(Counted {
        report,
        rpe: leading.rpe,
        minutes,
        from,
        load: if differ {
            disputed_range(reports, &sources, point)
        } else {
            Bounds::exact(point)
        },
        dispute,
    })
}

fn standing(given_by: GivenBy) -> u8 {
    match given_by {
        GivenBy::Athlete => 2,
        GivenBy::Guardian => 1,
        GivenBy::Coach => 0,
    }
}

fn minutes_that_count(
    report: &Report,
    planned: Option<Minutes>,
    measured: Option<Minutes>,
) -> (Minutes, MinutesFrom) {
    let took_part = report.basis == Basis::TookPart && report.given_by == GivenBy::Athlete;
    match (measured, planned) {
        (Some(measured), _) => (measured, MinutesFrom::Attendance),
        (None, Some(planned)) if !took_part => (planned, MinutesFrom::Schedule),
        _ => (report.minutes, MinutesFrom::Report),
    }
}

/// More than 10 minutes apart, and more than a tenth of the larger.
fn differ(sources: &[Minutes]) -> bool {
    let minutes = sources.iter().map(|minutes| u32::from(minutes.get()));
    match (minutes.clone().min(), minutes.max()) {
        (Some(least), Some(most)) => most - least > 10 && 10 * (most - least) > most,
        _ => false,
    }
}

/// From the smallest to the largest of every rating x minutes, set-aside ratings included.
fn disputed_range(reports: &[Report], sources: &[Minutes], point: Load) -> Bounds<Load> {
    let products = reports
        .iter()
        .flat_map(|report| sources.iter().map(|minutes| Load::of(report.rpe, *minutes)));
    Bounds {
        low: products.clone().min().map_or(point, |low| low.min(point)),
        point,
        high: products.max().map_or(point, |high| high.max(point)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minutes(minutes: i64) -> Minutes {
        Minutes::new(minutes).unwrap()
    }

    fn report(rpe: f64, of_minutes: i64, given_by: GivenBy) -> Report {
        Report {
            rpe: Rpe::from_f64(rpe).unwrap(),
            minutes: minutes(of_minutes),
            basis: Basis::WholeSession,
            given_by,
        }
    }

    fn au(load: Load) -> f64 {
        load.to_au()
    }

    #[test]
    fn s07_three_sources_one_practice() {
        let athlete = report(6.5, 75, GivenBy::Athlete);
        let guardian = report(6.0, 75, GivenBy::Guardian);
        let before = counted(&[athlete], Some(minutes(90)), None).unwrap();
        assert_eq!(
            (au(before.load.point), before.from),
            (585.0, MinutesFrom::Schedule)
        );
        let measured = Some(Attendance::Present(Some(minutes(85))));
        let after = counted(&[athlete, guardian], Some(minutes(90)), measured).unwrap();
        assert_eq!(
            (au(after.load.point), after.from),
            (552.5, MinutesFrom::Attendance)
        );
        assert_eq!((au(after.load.low), au(after.load.high)), (450.0, 585.0));
        assert_eq!((after.report, after.dispute), (0, Some(Dispute::Minutes)));
    }

    #[test]
    fn the_athletes_newest_rating_counts_whoever_came_last() {
        let reports = [
            report(5.0, 90, GivenBy::Athlete),
            report(6.0, 90, GivenBy::Athlete),
            report(9.0, 90, GivenBy::Coach),
        ];
        let counted = counted(&reports, None, None).unwrap();
        assert_eq!((counted.report, au(counted.load.point)), (1, 540.0));
        assert_eq!(counted.dispute, None, "ratings may differ; minutes do not");
    }

    #[test]
    fn leaving_early_is_believed_before_the_schedule_and_measuring_before_both() {
        let left = Report {
            basis: Basis::TookPart,
            ..report(6.0, 40, GivenBy::Athlete)
        };
        let by_schedule = counted(&[left], Some(minutes(90)), None).unwrap();
        assert_eq!(
            (by_schedule.minutes.get(), by_schedule.from),
            (40, MinutesFrom::Report)
        );
        let present = Some(Attendance::Present(Some(minutes(45))));
        assert_eq!(
            counted(&[left], Some(minutes(90)), present)
                .unwrap()
                .minutes
                .get(),
            45
        );
    }

    #[test]
    fn ten_minutes_or_a_tenth_are_no_dispute() {
        let apart = |a, b| {
            counted(&[report(6.0, a, GivenBy::Athlete)], Some(minutes(b)), None)
                .unwrap()
                .dispute
        };
        assert_eq!(apart(80, 90), None, "10 minutes");
        assert_eq!(apart(189, 200), None, "11 minutes, less than a tenth");
        assert_eq!(apart(180, 200), None, "exactly a tenth");
        assert_eq!(apart(79, 90), Some(Dispute::Minutes));
    }

    #[test]
    fn an_absence_on_the_list_is_looked_at_and_a_confirmed_one_counts() {
        let reports = [report(6.0, 90, GivenBy::Athlete)];
        let listed = counted(
            &reports,
            None,
            Some(Attendance::Absent { confirmed: false }),
        );
        assert_eq!(listed.unwrap().dispute, Some(Dispute::Absent));
        let confirmed = Some(Attendance::Absent { confirmed: true });
        assert_eq!(counted(&reports, None, confirmed), None);
        assert_eq!(counted(&[], Some(minutes(90)), None), None);
    }
}
