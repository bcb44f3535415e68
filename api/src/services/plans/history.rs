//! What a plan follows: a history that is typed, or the logged one of an athlete or of each athlete of a squad.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::Date;
use plimsoll_domain::plan::Plan;
use plimsoll_domain::restriction::Restriction;
use plimsoll_domain::{DailySeries, IsoWeek};

use super::typed::typed;
use super::{Given, day_before};
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, SquadId};
use crate::services::as_of::AsOf;
use crate::services::fields::Faults;
use crate::services::figures::{self, Asked, AthleteDays};
use crate::services::policy::Policies;
use crate::services::ratings::{self, OwnRatings};
use crate::services::week_ahead::Schedule;
use crate::services::{flags, reach, returns, zones};
use crate::store::{Conn, StoreError, Who, memberships};
use crate::web::json::shorten_text;

const REFERENCES: &str = "exactly one of history, athlete_id and squad_id";

/// What a plan follows.
#[derive(Debug, Clone)]
pub enum Reference {
    /// What was typed.
    Typed(PlanAthlete),
    /// The logged history of one athlete, by the text that names her.
    Athlete(String),
    /// That of each athlete of a squad.
    Squad(String),
}

/// Somebody for whom a plan is judged.
#[derive(Debug, Clone, Default)]
pub struct PlanAthlete {
    /// Who, with the name shown; `None` where the history was typed.
    pub named: Option<(AthleteId, String)>,
    /// Her birth date, where it is known.
    pub born: Option<Date>,
    /// Her days up to the plan; `None` where nothing is known.
    pub days: Option<DailySeries>,
    /// The last of them that is logged; later ones hold what is planned, and none where it was typed.
    pub logged_until: Option<Date>,
    /// Organisations whose loads are not shared with the club.
    pub not_shared: u32,
    /// Whether a clinician limits her when the plan begins, or later.
    pub restricted: bool,
    /// The plan as it is for her; `None` where it is that of all.
    pub own: Option<OwnPlan>,
}

/// A plan with what is different in it for one athlete.
#[derive(Debug, Clone)]
pub struct OwnPlan {
    /// The plan.
    pub plan: Plan,
    /// How many items of the programme are other.
    pub changes: usize,
}

impl Reference {
    /// Checks what was sent. A typed history ends on the day before `monday`.
    pub fn check(given: Given<'_>, monday: Option<Date>, faults: &mut Faults) -> Option<Self> {
        match (given.history, given.athlete_id, given.squad_id) {
            (Some(history), None, None) => typed(history, monday, faults).map(Self::Typed),
            (None, Some(athlete), None) => Some(Self::Athlete(athlete.to_owned())),
            (None, None, Some(squad)) => Some(Self::Squad(squad.to_owned())),
            (None, None, None) => {
                faults.extend([FieldProblem::missing("/history", REFERENCES)]);
                None
            }
            (_, athlete, squad) => {
                let second = squad.map(|squad| ("/squad_id", squad));
                let (pointer, given) = second.or(athlete.map(|id| ("/athlete_id", id)))?;
                let fault = FieldProblem::new(pointer, Code::AmbiguousHistory, shorten_text(given));
                faults.extend([fault.allowed(REFERENCES)]);
                None
            }
        }
    }
}

/// Whom the plan is judged for, in a state of knowledge.
pub fn read(
    conn: &mut Conn,
    caller: &Caller,
    (reference, first): (&Reference, IsoWeek),
    as_of: AsOf,
    policies: &Policies,
) -> Result<Vec<PlanAthlete>, Problem> {
    let athletes = match reference {
        Reference::Typed(athlete) => return Ok(vec![athlete.clone()]),
        Reference::Athlete(given) => vec![athlete(conn, caller, given)?],
        Reference::Squad(given) => members(conn, caller, given, as_of)?,
    };
    logged(conn, caller, (&athletes, first), as_of, policies)
}

fn athlete(conn: &mut Conn, caller: &Caller, given: &str) -> Result<AthleteId, Problem> {
    let unknown = || {
        let fault = FieldProblem::new("/athlete_id", Code::UnknownPerson, shorten_text(given));
        Problem::field(fault.allowed("an athlete of this club within your reach"))
    };
    let athlete_id: AthleteId = given.parse().map_err(|_| unknown())?;
    let found = reach::athlete(conn, caller, athlete_id);
    found
        .map(|found| found.content.athlete_id)
        .map_err(|problem| match problem.code {
            Code::NotFound => unknown(),
            _ => problem,
        })
}

/// Who is in a squad today.
fn members(
    conn: &mut Conn,
    caller: &Caller,
    given: &str,
    as_of: AsOf,
) -> Result<Vec<AthleteId>, Problem> {
    let unknown = || {
        let fault = FieldProblem::new("/squad_id", Code::UnknownSquad, shorten_text(given));
        Problem::field(fault.allowed("a squad of this club within your reach"))
    };
    let squad_id: SquadId = given.parse().map_err(|_| unknown())?;
    reach::squad(conn, caller, squad_id).map_err(|problem| match problem.code {
        Code::NotFound => unknown(),
        _ => problem,
    })?;
    let tenant = caller.tenant;
    let today = as_of.today(&zones::of_club(conn, tenant)?);
    let found: Result<_, StoreError> =
        memberships::of_squads(conn, tenant, &[squad_id], today, today, as_of.known);
    let athletes = found?.into_iter().map(|member| member.content.athlete_id);
    Ok(athletes.collect::<BTreeSet<_>>().into_iter().collect())
}

/// The logged days of athletes up to the plan. What is left of a week that runs counts as it is planned.
fn logged(
    conn: &mut Conn,
    caller: &Caller,
    (athletes, first): (&[AthleteId], IsoWeek),
    as_of: AsOf,
    policies: &Policies,
) -> Result<Vec<PlanAthlete>, Problem> {
    let (tenant, known) = (caller.tenant, as_of.known);
    let today = as_of.today(&zones::of_club(conn, tenant)?);
    let running = IsoWeek::of(today).map_err(|error| Problem::internal(&error))?;
    let latest = running.next().unwrap_or(running);
    if first > latest {
        let fault = FieldProblem::new("/plan/first_week", Code::InFuture, first.to_string());
        let detail = format!("What is logged ends in {running}: for a later plan type a history.");
        return Err(Problem::field(
            fault.detail(detail).allowed(format!("{latest} or earlier")),
        ));
    }
    let who = Who::Athletes(athletes);
    let asked = Asked {
        first: returns::reads_from(conn, tenant, who, (first, first), known)?,
        last: day_before(first.monday())?,
        settings: None,
        known,
        now: as_of.now,
    };
    let days = figures::days(conn, tenant, who, &asked, policies)?;
    let rest = (first == latest).then(|| rest_of(conn, caller, (athletes, running), as_of));
    let rest = rest.transpose()?;
    let until = today.min(asked.last);
    let of_one = |days: AthleteDays| {
        let extended = match &rest {
            Some(rest) => rest.after(&days)?,
            None => days.series.clone(),
        };
        Ok(plan_athlete(days, extended, until))
    };
    days.into_iter().map(of_one).collect()
}

fn plan_athlete(days: AthleteDays, series: Option<DailySeries>, until: Date) -> PlanAthlete {
    let later = until.saturating_add(1.day());
    let goes_on = |one: &Restriction| one.until.is_none_or(|last| last >= later);
    PlanAthlete {
        logged_until: series.as_ref().map(|_| until),
        days: series,
        born: days.athlete.birth_date,
        not_shared: u32::try_from(days.elsewhere.not_shared.len()).unwrap_or(u32::MAX),
        own: None,
        restricted: days.restrictions.iter().any(goes_on),
        named: Some((days.athlete.athlete_id, days.athlete.display_name)),
    }
}

/// What is planned of a week that runs.
struct Rest {
    schedule: Schedule,
    ratings: BTreeMap<AthleteId, OwnRatings>,
}

fn rest_of(
    conn: &mut Conn,
    caller: &Caller,
    (athletes, running): (&[AthleteId], IsoWeek),
    as_of: AsOf,
) -> Result<Rest, Problem> {
    let (tenant, known) = (caller.tenant, as_of.known);
    let span = (flags::looks_back_to(running), running.sunday());
    Ok(Rest {
        schedule: Schedule::read(conn, tenant, athletes, running, known)?,
        ratings: ratings::read(conn, tenant, Who::Athletes(athletes), span, known)?,
    })
}

impl Rest {
    /// An athlete's days with what is left of the week behind them.
    fn after(&self, days: &AthleteDays) -> Result<Option<DailySeries>, Problem> {
        let ratings = self.ratings.get(&days.athlete.athlete_id);
        self.schedule.with_the_rest(days, ratings)
    }
}
