//! The sessions of a plan on their dates, each with where it stands in the body.

use jiff::civil::{Date, DateTime};
use plimsoll_domain::plan::{Plan, PlanError, PlanSession};
use plimsoll_domain::programme::Changes;
use plimsoll_domain::{IsoWeek, Kind, Minutes, Setting};

use super::input::{MOST_ENTRIES, MOST_SESSIONS, PlanInput, PlanSessionInput, allowed_weeks};
use super::stored::{PLACE, StoredPlan};
use super::when::Weeks;
use crate::error::{Code, FieldProblem};
use crate::services::closing;
use crate::services::fields::{self, Faults};
use crate::services::sessions::input::{codes_of_kind, codes_of_setting};

/// A plan whose sessions have names.
#[derive(Debug, Clone)]
pub struct NamedPlan {
    /// The plan.
    pub plan: Plan,
    /// Its sessions, by start.
    pub sessions: Vec<NamedSession>,
}

/// One session of a plan.
#[derive(Debug, Clone)]
pub struct NamedSession {
    /// Where it stands in the body, an RFC 6901 pointer.
    pub place: String,
    /// What it is called.
    pub name: Option<String>,
    /// When it starts.
    pub start: DateTime,
    /// The least that is kept of it.
    pub least: Option<Minutes>,
    /// The session.
    pub session: PlanSession,
}

impl NamedPlan {
    /// Checks a plan, and collects every fault.
    pub fn check(
        input: &PlanInput,
        stored: Option<&StoredPlan>,
        faults: &mut Faults,
    ) -> Option<Self> {
        let least = stored.map_or(0, StoredPlan::length);
        let weeks = faults.take(Weeks::check(input, least));
        let mut sessions = Vec::new();
        let single = input.sessions.as_deref();
        if single.is_none() && input.programme.is_none() {
            let allowed = "a list of sessions, or a programme";
            faults.extend([FieldProblem::missing("/plan/sessions", allowed)]);
        }
        if let (Some(stored), Some(weeks)) = (stored, weeks) {
            sessions.extend(
                faults
                    .take(stored.sessions(weeks.first, &Changes::default()))
                    .into_iter()
                    .flatten(),
            );
        }
        for (list, given, fixed) in [
            ("/plan/sessions", single.unwrap_or_default(), false),
            ("/plan/calendar", &input.calendar, true),
        ] {
            if given.len() > MOST_ENTRIES {
                // No more than one too many was read.
                let many =
                    FieldProblem::new(list, Code::OutOfRange, format!("more than {MOST_ENTRIES}"));
                faults.extend([many.allowed(format!("at most {MOST_ENTRIES} entries"))]);
                continue;
            }
            for (at, one) in given.iter().enumerate() {
                let place = format!("{list}/{at}");
                sessions.extend(one.named(&place, weeks.zip(Some(fixed)), faults));
            }
        }
        sessions.sort_by_key(|one| one.start);
        let weeks = weeks.filter(|_| faults.is_empty())?;
        faults.take(Self::of(weeks, sessions))
    }

    fn of(weeks: Weeks, sessions: Vec<NamedSession>) -> Result<Self, FieldProblem> {
        if sessions.len() > MOST_SESSIONS {
            let fault = FieldProblem::new("/plan", Code::OutOfRange, sessions.len());
            return Err(fault.allowed(format!("at most {MOST_SESSIONS} sessions")));
        }
        let plain = sessions.iter().map(|one| one.session.clone()).collect();
        let plan = Plan::new(weeks.first, weeks.count, plain);
        let plan = plan.map_err(|error| refused(&sessions, error))?;
        Ok(Self { plan, sessions })
    }

    /// The sessions of a week.
    pub fn of_week(&self, week: IsoWeek) -> impl Iterator<Item = &NamedSession> {
        let dates = week.monday()..=week.sunday();
        let sessions = self.sessions.iter();
        sessions.filter(move |one| dates.contains(&one.session.date))
    }

    /// Whether any session says its landings.
    pub fn says_landings(&self) -> bool {
        let mut sessions = self.plan.sessions().iter();
        sessions.any(|session| session.contacts.is_some())
    }

    /// Whether any session says its warm-up.
    pub fn says_warm_ups(&self) -> bool {
        let mut sessions = self.plan.sessions().iter();
        sessions.any(|session| session.warm_up.is_some())
    }

    /// The plan with other sessions in the place of those of the programme: the same ones, as they are for one athlete.
    pub fn with(&self, theirs: Vec<NamedSession>) -> Result<Plan, PlanError> {
        let single = self.sessions.iter().filter(|one| one.place != PLACE);
        let all = single.cloned().chain(theirs);
        let all = all.map(|one| one.session).collect();
        Plan::new(self.plan.first(), self.length(), all)
    }

    fn length(&self) -> u8 {
        u8::try_from(self.plan.weeks().count()).unwrap_or(u8::MAX)
    }

    /// Its last week.
    pub fn last(&self) -> IsoWeek {
        self.plan.weeks().last().unwrap_or(self.plan.first())
    }
}

/// What of the plan as a whole is wrong.
fn refused(sessions: &[NamedSession], error: PlanError) -> FieldProblem {
    match error {
        PlanError::OverDayMax { date } => {
            let mut of_date = sessions.iter().rev();
            let last = of_date.find(|one| one.session.date == date);
            let place = last.map_or("/plan", |one| &one.place);
            FieldProblem::new(place, Code::DayFull, date.to_string())
                .allowed("at most 1500 minutes a date")
        }
        other => {
            FieldProblem::new("/plan", Code::OutOfRange, other.to_string()).allowed(allowed_weeks())
        }
    }
}

impl PlanSessionInput {
    /// The session on each of its dates; none where something is wrong with it.
    fn named(
        &self,
        place: &str,
        plan: Option<(Weeks, bool)>,
        faults: &mut Faults,
    ) -> Vec<NamedSession> {
        let at = |field: &str| format!("{place}/{field}");
        let name = self.name.as_deref();
        let name = name.map(|name| faults.take(fields::line(&at("name"), Some(name))));
        let (setting, kind) = (self.setting.as_deref(), self.kind.as_deref());
        let setting = fields::coded(&at("setting"), setting, Setting::parse, codes_of_setting);
        let kind = fields::coded(&at("kind"), kind, Kind::parse, codes_of_kind);
        let (setting, kind) = (faults.take(setting), faults.take(kind));
        let minutes = faults.take(fields::minutes(&at("minutes"), self.minutes.as_ref()));
        let intended = fields::rpe(&at("intended_rpe"), self.intended_rpe.as_ref());
        let intended = faults.take(intended);
        let landings = self.landings.as_ref();
        let landings = landings.map(|one| one.check(&at("landings"), faults));
        let warm_up = self.warm_up.as_ref();
        let warm_up = warm_up.map(|one| one.check(&at("warm_up"), minutes, faults));
        let least = self.least_minutes.as_ref();
        let least =
            least.map(|least| faults.take(fields::minutes(&at("least_minutes"), Some(least))));
        let start = self.start.as_deref();
        let minute = start.map(|start| faults.take(closing::minute(&at("start"), Some(start))));
        let dates = faults.take(self.dates(place, plan.map(|(weeks, _)| weeks)));
        let (Some(setting), Some(kind), Some(minutes), Some(intended), Some(dates)) =
            (setting, kind, minutes, intended, dates)
        else {
            return Vec::new();
        };
        let on = |date: Date| NamedSession {
            place: place.to_owned(),
            name: name.clone().flatten(),
            start: at_minute(date, minute.flatten().unwrap_or(0)),
            least: least.flatten(),
            session: PlanSession {
                date,
                start: minute
                    .flatten()
                    .map(|minute| at_minute(date, minute).time()),
                setting,
                kind,
                intended,
                minutes,
                protected: plan.is_some_and(|(_, fixed)| fixed),
                contacts: landings.flatten().map(|landings| landings.contacts()),
                warm_up: warm_up.clone().flatten(),
            },
        };
        dates.into_iter().map(on).collect()
    }
}

/// A minute of a day as a time on it.
fn at_minute(date: Date, minute: i32) -> DateTime {
    let midnight = date.to_datetime(jiff::civil::Time::midnight());
    midnight.saturating_add(jiff::SignedDuration::from_mins(minute.into()))
}
