//! What is planned for athletes in the week after a list, and who will be over a limit by it.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::ahead::{ahead, with_planned};
use plimsoll_domain::{Absence, Ahead, DailySeries, IsoWeek, Minutes, PlannedSession, PlannedWeek};

use super::figures::AthleteDays;
use super::policy::Policies;
use super::ratings::{OwnRatings, half_steps};
use super::schedule::plan::{Plan, Planned};
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::events::Event;
use crate::store::{AttendanceStatus, Conn, Known, Tenant, Who, absences, rest_days};

/// What is planned for some athletes in a week: a query a table.
#[derive(Debug)]
pub struct Schedule {
    week: IsoWeek,
    plan: Plan,
    absent: Vec<(AthleteId, Date, Date)>,
    rest: Vec<(AthleteId, Date)>,
}

impl Schedule {
    /// Reads it in a state of knowledge.
    pub fn read(
        conn: &mut Conn,
        tenant: Tenant,
        athletes: &[AthleteId],
        week: IsoWeek,
        known: Known,
    ) -> Result<Self, Problem> {
        let (monday, sunday) = (week.monday(), week.sunday());
        let who = Who::Athletes(athletes);
        let absent = absences::in_dates(conn, tenant, who, monday, sunday, known)?;
        let rest = rest_days::in_dates(conn, tenant, who, monday, sunday, known)?;
        Ok(Self {
            week,
            plan: Plan::read(conn, tenant, athletes, (monday, sunday), known)?,
            absent: absent
                .into_iter()
                .map(|one| one.content)
                .map(|one| (one.athlete_id, one.from_date, one.to_date))
                .collect(),
            rest: rest
                .into_iter()
                .map(|one| (one.content.athlete_id, one.content.date))
                .collect(),
        })
    }

    /// The athletes who will, or may, be over a limit, in the order given.
    pub fn over(
        &self,
        policies: &Policies,
        athletes: &[AthleteDays],
        ratings: &BTreeMap<AthleteId, OwnRatings>,
    ) -> Result<Vec<Ahead<AthleteId>>, Problem> {
        self.judged(policies, athletes, ratings, |_, _| true)
    }

    /// The same for a week that runs, by what is still planned of it. The days go to its Sunday.
    pub fn over_with_the_rest(
        &self,
        policies: &Policies,
        athletes: &[AthleteDays],
        ratings: &BTreeMap<AthleteId, OwnRatings>,
    ) -> Result<Vec<Ahead<AthleteId>>, Problem> {
        self.judged(policies, athletes, ratings, is_to_come)
    }

    /// An athlete's days to the end of a week that runs, with what is still planned of it as if it were done.
    pub fn with_the_rest(
        &self,
        days: &AthleteDays,
        ratings: Option<&OwnRatings>,
    ) -> Result<Option<DailySeries>, Problem> {
        let Some(series) = &days.series else {
            return Ok(None);
        };
        let to_come = |event: &Event| is_to_come(days, event);
        let planned = self.week_of(days.athlete.athlete_id, ratings, to_come)?;
        Ok(with_planned(series, self.week, &planned))
    }

    fn judged(
        &self,
        policies: &Policies,
        athletes: &[AthleteDays],
        ratings: &BTreeMap<AthleteId, OwnRatings>,
        counts: impl Fn(&AthleteDays, &Event) -> bool,
    ) -> Result<Vec<Ahead<AthleteId>>, Problem> {
        let Some(policy) = policies.at(self.week.sunday()) else {
            return Ok(Vec::new());
        };
        let mut over = Vec::new();
        for days in athletes {
            let Some(series) = &days.series else { continue };
            let athlete = days.athlete.athlete_id;
            let wanted = |event: &Event| counts(days, event);
            let planned = self.week_of(athlete, ratings.get(&athlete), wanted)?;
            let named = (athlete, days.athlete.display_name.clone());
            over.extend(ahead(policy, named, series, self.week, &planned));
        }
        Ok(over)
    }

    /// One athlete's planned week of what is wanted; what falls on a day off is left out.
    fn week_of(
        &self,
        athlete: AthleteId,
        ratings: Option<&OwnRatings>,
        wanted: impl Fn(&Event) -> bool,
    ) -> Result<PlannedWeek, Problem> {
        let mut week = PlannedWeek::default();
        let dates = std::iter::successors(Some(self.week.monday()), |date| date.tomorrow().ok());
        let planned = self.plan.of(athlete, &[]);
        for (day, date) in week.iter_mut().zip(dates) {
            day.absence = self.absence_on(athlete, date);
            if day.absence != Absence::None || self.rest.contains(&(athlete, date)) {
                continue;
            }
            let of_day = planned.iter().filter(|one| one.event.load_date == date);
            let going = of_day.filter(|one| goes(one) && wanted(one.event));
            let sessions = going.map(|one| session(one.event, ratings));
            day.sessions = sessions.collect::<Result<_, _>>()?;
        }
        Ok(week)
    }

    /// The longest absence that holds the date.
    fn absence_on(&self, athlete: AthleteId, date: Date) -> Absence {
        let spans = self.absent.iter();
        let own = spans.filter(|(who, from, to)| *who == athlete && (*from..=*to).contains(&date));
        let days = own.map(|(_, from, to)| to.duration_since(*from).as_hours() / 24 + 1);
        Absence::of_days(days.max().unwrap_or(0))
    }
}

/// Whether it is neither over nor answered.
fn is_to_come(days: &AthleteDays, event: &Event) -> bool {
    let mut planned = days.planned.iter();
    planned.any(|one| one.event_id == event.event_id)
}

/// Whether she is invited, it is not called off, and nobody has said that she is not coming.
pub(super) fn goes(one: &Planned<'_>) -> bool {
    let absent = |status| status == AttendanceStatus::Absent;
    let says_no = one.attendance.is_some_and(|entry| absent(entry.status));
    one.expected && !one.cancelled() && !says_no
}

/// A session as it is planned for an athlete with these ratings of her own.
pub(super) fn session(
    event: &Event,
    ratings: Option<&OwnRatings>,
) -> Result<PlannedSession, Problem> {
    let minutes = Minutes::new(event.minutes.into());
    let intended = event.intended_rpe_half.map(half_steps).transpose()?;
    Ok(PlannedSession {
        minutes: minutes.map_err(|error| Problem::internal(&error))?,
        intended,
        usual: ratings.and_then(|ratings| ratings.usual(event.kind)),
    })
}
