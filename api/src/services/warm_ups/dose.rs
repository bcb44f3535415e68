//! The neuromuscular warm-ups of athletes and of a squad by ISO week, and of a season of weeks.
//!
//! Of an athlete counts where she was, not what was held. Whether she was there is told by the attendance list and by her reports, as far
//! as they tell it: one who was there in part may have missed the warm-up, and of a session without an answer nothing is known.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use jiff::{Span, Timestamp};
use plimsoll_domain::neuromuscular::{DoseParts, LeastDose, SeasonDose, WarmUp, WeekWarmUps};
use plimsoll_domain::{IsoWeek, Kind, Outcome, Rule, RuleCode};

use crate::error::Problem;
use crate::ids::{AthleteId, EventId, SquadId};
use crate::services::as_of::AsOf;
use crate::services::policy::Policies;
use crate::services::schedule::plan::{Plan, Planned};
use crate::services::schedule::record::Record;
use crate::services::schedule::standing::SessionStanding;
use crate::store::events::{self, Event};
use crate::store::{
    AttendanceStatus, Conn, EventStatus, Tenant, Who, absences, event_warm_ups, rest_days,
};

/// How far past the weeks asked for the first game is looked for.
const WEEKS_TO_GAME: i64 = 26;

/// Weeks with their warm-ups, and what they come to.
#[derive(Debug)]
pub struct Doses {
    /// Each week.
    pub weeks: Vec<DoseWeek>,
    /// The first warm-up among them that she was at, or that was held.
    pub first_warm_up: Option<Date>,
    /// The first that she may have been at.
    first_possible: Option<Date>,
    /// The first game planned from the first week on.
    pub first_game: Option<Date>,
}

/// One week.
#[derive(Debug)]
pub struct DoseWeek {
    /// Which.
    pub week: IsoWeek,
    /// Its warm-ups.
    pub warm_ups: WeekWarmUps,
    /// Whether a session was planned in it from which rest or absence did not keep.
    pub is_expected: bool,
    /// Whether it is over.
    pub is_over: bool,
    /// The policy of its Sunday.
    pub policy_version: Option<u32>,
    /// The rule of that on neuromuscular warm-up, switched on or not; `None` where it has none.
    pub rule: Option<Rule>,
}

impl DoseWeek {
    /// Which parts of the least dose it meets.
    pub fn parts(&self) -> Option<(LeastDose, DoseParts)> {
        let least = LeastDose::of(self.rule.as_ref()?)?;
        Some((least, least.parts(&self.warm_ups)))
    }

    /// What the rule says of it.
    pub fn outcome(&self) -> Option<Outcome> {
        let least = LeastDose::of(self.rule.as_ref()?)?;
        Some(least.judge(&self.warm_ups, self.is_expected))
    }
}

impl Doses {
    /// The weeks that are over and in which warm-ups were expected; `None` where no rule judges one of them.
    pub fn season(&self) -> Option<SeasonDose> {
        let expected = self.expected();
        let met = expected.map(|week| week.parts().map(|(_, parts)| parts.all()));
        let met = met.collect::<Option<Vec<_>>>()?;
        let began = (self.first_warm_up, self.first_possible);
        Some(SeasonDose::of(&met, began, self.first_game))
    }

    /// Whether they began at least six weeks before the first game.
    pub fn began_in_time(&self) -> Option<bool> {
        let began = (self.first_warm_up, self.first_possible);
        SeasonDose::of(&[], began, self.first_game).began_in_time
    }

    /// The weeks that are over and in which warm-ups were expected.
    pub fn expected(&self) -> impl Iterator<Item = &DoseWeek> {
        let weeks = self.weeks.iter();
        weeks.filter(|week| week.is_over && week.is_expected)
    }
}

/// Which weeks, in which state of knowledge, and what today is.
#[derive(Debug, Clone, Copy)]
pub struct Weeks {
    /// The first.
    pub first: IsoWeek,
    /// The last.
    pub last: IsoWeek,
    /// The state of knowledge.
    pub as_of: AsOf,
    /// The date of that instant.
    pub today: Date,
}

impl Weeks {
    fn dates(self) -> (Date, Date) {
        (self.first.monday(), self.last.sunday())
    }

    /// The dates in which the first game is looked for.
    fn to_game(self) -> (Date, Date) {
        let (first, last) = self.dates();
        (first, last.saturating_add(Span::new().weeks(WEEKS_TO_GAME)))
    }
}

/// What is known of one session in which a warm-up may have been.
struct Known {
    date: Date,
    warm_up: Option<WarmUp>,
    there: There,
}

/// Whether she was there.
#[derive(Clone, Copy, PartialEq, Eq)]
enum There {
    Yes,
    NotKnown,
}

/// Reads the warm-ups that athletes had: a query a table, whatever the number of athletes.
pub fn of_athletes(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    weeks: Weeks,
) -> Result<BTreeMap<AthleteId, Doses>, Problem> {
    let (known, dates) = (weeks.as_of.known, weeks.dates());
    let policies = Policies::read(conn, tenant, known)?;
    let record = Record::read(conn, tenant, athletes, dates, known)?;
    let ahead = Plan::read(conn, tenant, athletes, weeks.to_game(), known)?;
    let mut sessions = record.sessions()?;
    let held = held(conn, tenant, events_of(&sessions), weeks)?;
    let off = Off::read(conn, tenant, athletes, weeks)?;
    let of_one = |athlete: &AthleteId| {
        let standing = sessions.remove(athlete).unwrap_or_default();
        let is_off = |date| off.is_off(*athlete, date);
        let planned = standing.iter().filter_map(|one| Some((one, one.planned?)));
        let planned = planned.filter(|(_, planned)| {
            let date = planned.event.load_date;
            !planned.cancelled() && (dates.0..=dates.1).contains(&date)
        });
        let mut found = Vec::new();
        let mut expected = BTreeSet::new();
        for (standing, planned) in planned {
            let event = planned.event;
            if planned.expected && !is_off(event.load_date) {
                expected.insert(event.load_date);
            }
            let was = there(standing, planned, weeks.as_of.at(), is_off(event.load_date));
            found.extend(was.map(|there| Known {
                date: event.load_date,
                warm_up: held.get(&event.event_id).cloned(),
                there,
            }));
        }
        let game = ahead.of(*athlete, &[]).into_iter();
        let game = game.filter(|one| one.expected && is_game(one.event));
        let first_game = game.map(|one| one.event.load_date).min();
        (
            *athlete,
            doses(weeks, &policies, (&found, &expected), first_game),
        )
    };
    Ok(athletes.iter().map(of_one).collect())
}

/// Reads the warm-ups that a squad's sessions held, whoever was there.
pub fn of_squad(
    conn: &mut Conn,
    tenant: Tenant,
    squad: SquadId,
    weeks: Weeks,
) -> Result<Doses, Problem> {
    let known = weeks.as_of.known;
    let policies = Policies::read(conn, tenant, known)?;
    let (first, last) = weeks.to_game();
    let planned = events::in_dates(conn, tenant, first, last, known)?;
    let planned: Vec<Event> = planned
        .into_iter()
        .map(|event| event.content)
        .filter(|event| event.squads.contains(&squad) && event.status != EventStatus::Cancelled)
        .collect();
    let first_game = planned.iter().filter(|event| is_game(event));
    let first_game = first_game.map(|event| event.load_date).min();
    let within = planned
        .iter()
        .filter(|event| event.load_date <= weeks.last.sunday());
    let ids = within.clone().map(|event| event.event_id).collect();
    let held = held(conn, tenant, ids, weeks)?;
    let expected = within.clone().map(|event| event.load_date).collect();
    let over = within.filter(|event| event.ends_at() <= weeks.as_of.at());
    let found = over.map(|event| Known {
        date: event.load_date,
        warm_up: held.get(&event.event_id).cloned(),
        there: There::Yes,
    });
    let found: Vec<Known> = found.collect();
    Ok(doses(weeks, &policies, (&found, &expected), first_game))
}

/// Whether she was there, as far as it is told; `None` where she was not, or it is still to come.
fn there(
    standing: &SessionStanding<'_>,
    planned: Planned<'_>,
    at: Timestamp,
    is_off: bool,
) -> Option<There> {
    let reported = standing.counted.is_some();
    match planned.attendance.map(|entry| entry.status) {
        Some(AttendanceStatus::Partial) => Some(There::NotKnown),
        Some(AttendanceStatus::Present) => Some(There::Yes),
        _ if reported => Some(There::Yes),
        Some(AttendanceStatus::Absent) => None,
        Some(AttendanceStatus::Unknown) | None => {
            let open = planned.expected && planned.event.ends_at() <= at && !is_off;
            open.then_some(There::NotKnown)
        }
    }
}

fn is_game(event: &Event) -> bool {
    event.kind == Kind::Game && event.status != EventStatus::Cancelled
}

fn events_of(sessions: &BTreeMap<AthleteId, Vec<SessionStanding<'_>>>) -> BTreeSet<EventId> {
    let planned = sessions.values().flatten().filter_map(|one| one.planned);
    planned.map(|one| one.event.event_id).collect()
}

/// What was said of the warm-ups of events.
fn held(
    conn: &mut Conn,
    tenant: Tenant,
    events: BTreeSet<EventId>,
    weeks: Weeks,
) -> Result<BTreeMap<EventId, WarmUp>, Problem> {
    let events: Vec<EventId> = events.into_iter().collect();
    let rows = event_warm_ups::of_events(conn, tenant, &events, weeks.as_of.known)?;
    let read = rows
        .iter()
        .map(|row| Ok((row.event_id, super::warm_up(row)?)));
    read.collect()
}

/// The days on which a rest or an absence answers for what was planned.
struct Off(BTreeSet<(AthleteId, Date)>);

impl Off {
    fn read(
        conn: &mut Conn,
        tenant: Tenant,
        athletes: &[AthleteId],
        weeks: Weeks,
    ) -> Result<Self, Problem> {
        let ((from, to), known, who) = (weeks.dates(), weeks.as_of.known, Who::Athletes(athletes));
        let rest = rest_days::in_dates(conn, tenant, who, from, to, known)?;
        let rest = rest
            .into_iter()
            .map(|one| (one.content.athlete_id, one.content.date));
        let mut off: BTreeSet<_> = rest.collect();
        for away in absences::in_dates(conn, tenant, who, from, to, known)? {
            let away = away.content;
            let (first, last) = (away.from_date.max(from), away.to_date.min(to));
            let days = first.series(Span::new().days(1));
            let days = days.take_while(|date| *date <= last);
            off.extend(days.map(|date| (away.athlete_id, date)));
        }
        Ok(Self(off))
    }

    fn is_off(&self, athlete: AthleteId, date: Date) -> bool {
        self.0.contains(&(athlete, date))
    }
}

/// The weeks of what is known of sessions, and of the dates on which some were expected.
fn doses(
    weeks: Weeks,
    policies: &Policies,
    (found, expected): (&[Known], &BTreeSet<Date>),
    first_game: Option<Date>,
) -> Doses {
    let week = |week: IsoWeek| {
        let dates = week.monday()..=week.sunday();
        let policy = policies.at(week.sunday());
        let rule = policy.and_then(|policy| policy.rule(RuleCode::NeuromuscularDose));
        DoseWeek {
            week,
            warm_ups: warm_ups(found.iter().filter(|one| dates.contains(&one.date))),
            is_expected: expected.range(dates).next().is_some(),
            is_over: week.sunday() < weeks.today,
            policy_version: policy.map(|policy| policy.version),
            rule: rule.cloned(),
        }
    };
    let first = |there: There| {
        let held = found.iter().filter(|one| one.there == there);
        let held = held.filter(|one| one.warm_up.as_ref().is_some_and(WarmUp::is_held));
        held.map(|one| one.date).min()
    };
    Doses {
        weeks: weeks.first.through(weeks.last).map(week).collect(),
        first_warm_up: first(There::Yes),
        first_possible: first(There::NotKnown),
        first_game,
    }
}

fn warm_ups<'a>(found: impl Iterator<Item = &'a Known>) -> WeekWarmUps {
    let mut week = WeekWarmUps::default();
    for one in found {
        match (&one.warm_up, one.there) {
            (None, _) => week.not_said += 1,
            (Some(warm_up), There::Yes) => week.attended.push(warm_up.clone()),
            (Some(warm_up), There::NotKnown) => week.not_known.push(warm_up.clone()),
        }
    }
    week
}
