//! A programme as it is sent, and its checks.

use jiff::civil::{Time, Weekday};
use plimsoll_domain::exercises::Catalogue;
use plimsoll_domain::programme::{Block, Day, OutlineError, Programme, Session, Week};
use plimsoll_domain::{Kind, Setting};
use serde::{Deserialize, Serialize};
use serde_json::{Number, Value};
use utoipa::ToSchema;

use super::item::{ProgrammeItemInput, written};
use crate::error::{Code, FieldProblem};
use crate::services::closing;
use crate::services::fields::{self, Faults};
use crate::services::sessions::input::{codes_of_kind, codes_of_setting};
use crate::services::warm_ups::WarmUpBody;
use crate::web::object;

/// Most weeks of a programme.
pub const MOST_WEEKS: usize = Programme::MOST_WEEKS as usize;
/// Most items of a programme.
pub const MOST_ITEMS: usize = 5_000;

/// A programme: blocks of weeks, days with sessions, and in each session its items in order. Weeks are numbered through all blocks; dates
/// come with an assignment.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "Summer at home", "blocks": [{"name": "Learning", "weeks": [{"days": [{"day": "tuesday", "sessions": [
    {"name": "Legs", "setting": "prescribed_home", "kind": "strength", "minutes": 45, "intended_rpe": 5, "items": [
        {"exercise": "squat", "sets": 3, "reps": 10},
        {"exercise": "side_plank", "sets": 2, "seconds": 20, "rest_seconds": 30},
        {"exercise": "shuttle_run", "sets": 3, "distance": {"legs": [{"direction": "forward", "length": 15},
            {"direction": "back", "length": 15}], "unit": "m", "returns_to_start": true}}]}]}]}, {"days": []}]}]}))]
pub struct ProgrammeInput {
    /// What it is called, 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// Its blocks, of 1 to 60 weeks together.
    #[serde(deserialize_with = "object::list_at_most::<MOST_WEEKS, _, _>")]
    #[schema(min_items = 1, max_items = 60)]
    pub blocks: Vec<ProgrammeBlockInput>,
}

/// Weeks that follow each other under one name.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProgrammeBlockInput {
    /// What it is called, no two alike.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// Its weeks.
    #[serde(deserialize_with = "object::list_at_most::<MOST_WEEKS, _, _>")]
    #[schema(min_items = 1, max_items = 60)]
    pub weeks: Vec<ProgrammeWeekInput>,
}

/// A week.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProgrammeWeekInput {
    /// Its days with sessions; none in a week off.
    #[serde(deserialize_with = "object::list_at_most::<7, _, _>")]
    #[schema(max_items = 7)]
    pub days: Vec<ProgrammeDayInput>,
}

/// A day with sessions.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProgrammeDayInput {
    /// monday, tuesday, wednesday, thursday, friday, saturday or sunday, each once a week.
    #[schema(value_type = String)]
    pub day: Option<String>,
    /// Its sessions in order.
    #[serde(deserialize_with = "object::list_at_most::<{ Day::MOST_SESSIONS }, _, _>")]
    #[schema(min_items = 1, max_items = 3)]
    pub sessions: Vec<ProgrammeSessionInput>,
}

/// A session of a programme. What is left out is not known.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProgrammeSessionInput {
    /// What it is called, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// Who runs it: club, school_team, pe, second_club, prescribed_home, private, free.
    #[schema(value_type = String)]
    pub setting: Option<String>,
    /// What is done: practice, game, strength, conditioning, rehabilitation, other.
    #[schema(value_type = String)]
    pub kind: Option<String>,
    /// When it starts, HH:MM.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    /// Planned minutes, whole, 1 to 600.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 600)]
    pub minutes: Option<Number>,
    /// How hard the whole of it is meant to be: session RPE, 0 to 10 in steps of 0.5.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<f64>, minimum = 0, maximum = 10, multiple_of = 0.5)]
    pub intended_rpe: Option<Number>,
    /// Its neuromuscular warm-up; left out where it is not said whether it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub warm_up: Option<WarmUpBody>,
    /// Its items in order, 30 at most; none of a session that has no list.
    #[serde(
        default,
        deserialize_with = "object::list_at_most::<{ Session::MOST_ITEMS }, _, _>"
    )]
    #[schema(max_items = 30)]
    pub items: Vec<ProgrammeItemInput>,
}

impl ProgrammeInput {
    /// Checks a programme, and collects every fault; without a catalogue exercises are not looked up.
    pub(super) fn check(
        &self,
        catalogue: Option<&Catalogue>,
        faults: &mut Faults,
    ) -> Option<Programme> {
        let name = faults.take(fields::line("/name", self.name.as_deref()));
        let (items, blocks) = (self.items(), (0..).zip(&self.blocks));
        if items > MOST_ITEMS {
            let fault = FieldProblem::new("/blocks", Code::OutOfRange, items);
            faults.extend([fault.allowed(format!("at most {MOST_ITEMS} items"))]);
            return None;
        }
        let blocks: Vec<_> = blocks
            .map(|(place, block): (usize, _)| {
                block.check(&format!("/blocks/{place}"), catalogue, faults)
            })
            .collect();
        let blocks: Option<Vec<Block>> = blocks.into_iter().collect();
        let made = Programme::new(name?, blocks?);
        faults.take(made.map_err(|error| match error {
            OutlineError::Twice(at) => {
                let given = self.blocks.get(at).and_then(|block| block.name.clone());
                let fault = FieldProblem::new(format!("/blocks/{at}/name"), Code::NotUnique, given);
                fault.allowed("a name that no other block of the programme has")
            }
            OutlineError::Weeks(weeks) => {
                let fault = FieldProblem::new("/blocks", Code::OutOfRange, weeks);
                fault.allowed(format!("1 to {MOST_WEEKS} weeks"))
            }
            other => FieldProblem::new("/blocks", Code::OutOfRange, other.to_string()),
        }))
    }

    fn items(&self) -> usize {
        let weeks = self.blocks.iter().flat_map(|block| &block.weeks);
        let days = weeks.flat_map(|week| &week.days);
        let sessions = days.flat_map(|day| &day.sessions);
        sessions.map(|session| session.items.len()).sum()
    }

    /// A programme as it was sent.
    pub(super) fn of(programme: &Programme) -> Self {
        Self {
            name: Some(programme.name().to_owned()),
            blocks: programme.blocks().iter().map(block).collect(),
        }
    }
}

impl ProgrammeBlockInput {
    fn check(&self, at: &str, catalogue: Option<&Catalogue>, faults: &mut Faults) -> Option<Block> {
        let name = fields::line(&format!("{at}/name"), self.name.as_deref());
        let name = faults.take(name);
        let weeks = (0..).zip(&self.weeks);
        let weeks: Vec<_> = weeks
            .map(|(place, week): (usize, _)| {
                week.check(&format!("{at}/weeks/{place}"), catalogue, faults)
            })
            .collect();
        let weeks: Option<Vec<Week>> = weeks.into_iter().collect();
        let made = Block::new(name?, weeks?);
        faults.take(made.map_err(|_| {
            let fault = FieldProblem::new(format!("{at}/weeks"), Code::OutOfRange, 0);
            fault.allowed(format!("1 to {MOST_WEEKS} weeks"))
        }))
    }
}

impl ProgrammeWeekInput {
    fn check(&self, at: &str, catalogue: Option<&Catalogue>, faults: &mut Faults) -> Option<Week> {
        let days = (0..).zip(&self.days);
        let days: Vec<_> = days
            .map(|(place, day): (usize, _)| {
                day.check(&format!("{at}/days/{place}"), catalogue, faults)
            })
            .collect();
        let days: Option<Vec<Day>> = days.into_iter().collect();
        let made = Week::new(days?);
        faults.take(made.map_err(|error| match error {
            OutlineError::Twice(place) => {
                let given = self.days.get(place).and_then(|day| day.day.clone());
                let pointer = format!("{at}/days/{place}/day");
                let fault = FieldProblem::new(pointer, Code::NotUnique, given);
                fault.allowed("each day of the week once, with all its sessions")
            }
            other => {
                let pointer = format!("{at}/days");
                FieldProblem::new(pointer, Code::OutOfRange, other.to_string())
            }
        }))
    }
}

impl ProgrammeDayInput {
    fn check(&self, at: &str, catalogue: Option<&Catalogue>, faults: &mut Faults) -> Option<Day> {
        let day = faults.take(weekday(&format!("{at}/day"), self.day.as_deref()));
        let sessions = (0..).zip(&self.sessions);
        let sessions: Vec<_> = sessions
            .map(|(place, session): (usize, _)| {
                session.check(&format!("{at}/sessions/{place}"), catalogue, faults)
            })
            .collect();
        let sessions: Option<Vec<Session>> = sessions.into_iter().collect();
        let made = Day::new(day?, sessions?);
        faults.take(made.map_err(|error| {
            let pointer = format!("{at}/sessions");
            let allowed = format!(
                "1 to {} sessions of at most {} items",
                Day::MOST_SESSIONS,
                Session::MOST_ITEMS
            );
            let given: Value = match error {
                OutlineError::Sessions(count) | OutlineError::Items(count) => count.into(),
                other => other.to_string().into(),
            };
            FieldProblem::new(pointer, Code::OutOfRange, given).allowed(allowed)
        }))
    }
}

impl ProgrammeSessionInput {
    fn check(
        &self,
        at: &str,
        catalogue: Option<&Catalogue>,
        faults: &mut Faults,
    ) -> Option<Session> {
        let under = |field: &str| format!("{at}/{field}");
        let name = self.name.as_deref();
        let name = faults.take(fields::optional(&under("name"), name, fields::line));
        let (setting, kind) = (self.setting.as_deref(), self.kind.as_deref());
        let setting = fields::coded(&under("setting"), setting, Setting::parse, codes_of_setting);
        let kind = fields::coded(&under("kind"), kind, Kind::parse, codes_of_kind);
        let (setting, kind) = (faults.take(setting), faults.take(kind));
        let start = self.start.as_deref();
        let start = faults.take(fields::optional(&under("start"), start, time));
        let minutes = self.minutes.as_ref();
        let minutes = minutes.map(|given| fields::minutes(&under("minutes"), Some(given)));
        let minutes = faults.take(minutes.transpose());
        let intended = self.intended_rpe.as_ref();
        let intended = intended.map(|given| fields::rpe(&under("intended_rpe"), Some(given)));
        let intended = faults.take(intended.transpose());
        let warm_up = self.warm_up.as_ref();
        let warm_up =
            warm_up.map(|one| one.of_session(&under("warm_up"), minutes.flatten(), faults));
        let items = (0..).zip(&self.items);
        let items: Vec<_> = items
            .map(|(place, item): (usize, _)| {
                item.check(&format!("{at}/items/{place}"), catalogue, faults)
            })
            .collect();
        Some(Session {
            name: name?,
            setting: setting?,
            kind: kind?,
            start: start?,
            minutes: minutes?,
            intended: intended?,
            warm_up: warm_up.map_or(Some(None), |one| one.map(Some))?,
            items: items.into_iter().collect::<Option<_>>()?,
        })
    }
}

/// A weekday that must be there.
pub(super) fn weekday(pointer: &str, given: Option<&str>) -> Result<Weekday, FieldProblem> {
    let number = closing::weekday(pointer, given)?;
    let offset = i8::try_from(number - 1).unwrap_or_default();
    Ok(Weekday::from_monday_zero_offset(offset).unwrap_or(Weekday::Monday))
}

/// The name of a weekday, as it is sent.
pub fn weekday_name(weekday: Weekday) -> &'static str {
    match weekday {
        Weekday::Monday => "monday",
        Weekday::Tuesday => "tuesday",
        Weekday::Wednesday => "wednesday",
        Weekday::Thursday => "thursday",
        Weekday::Friday => "friday",
        Weekday::Saturday => "saturday",
        Weekday::Sunday => "sunday",
    }
}

fn time(pointer: &str, given: Option<&str>) -> Result<Time, FieldProblem> {
    let minute = closing::minute(pointer, given)?;
    let parts = (i8::try_from(minute / 60), i8::try_from(minute % 60));
    let (Ok(hour), Ok(minute)) = parts else {
        return Ok(Time::midnight());
    };
    Ok(Time::new(hour, minute, 0, 0).unwrap_or_default())
}

/// A time as it was sent.
pub(super) fn time_text(time: Time) -> String {
    closing::time_text(i32::from(time.hour()) * 60 + i32::from(time.minute()))
}

fn block(block: &Block) -> ProgrammeBlockInput {
    ProgrammeBlockInput {
        name: Some(block.name().to_owned()),
        weeks: block.weeks().iter().map(week).collect(),
    }
}

fn week(week: &Week) -> ProgrammeWeekInput {
    let day = |day: &Day| ProgrammeDayInput {
        day: Some(weekday_name(day.weekday()).to_owned()),
        sessions: day.sessions().iter().map(session).collect(),
    };
    ProgrammeWeekInput {
        days: week.days().iter().map(day).collect(),
    }
}

fn session(session: &Session) -> ProgrammeSessionInput {
    ProgrammeSessionInput {
        name: session.name.clone(),
        setting: Some(session.setting.code().to_owned()),
        kind: Some(session.kind.code().to_owned()),
        start: session.start.map(time_text),
        minutes: session.minutes.map(|minutes| minutes.get().into()),
        intended_rpe: session.intended.map(half_steps),
        warm_up: session.warm_up.as_ref().map(WarmUpBody::of),
        items: session.items.iter().map(written).collect(),
    }
}

/// An RPE as a number, whole where it is whole.
fn half_steps(intended: plimsoll_domain::Rpe) -> Number {
    match intended.half_steps() % 2 {
        0 => (intended.half_steps() / 2).into(),
        _ => Number::from_f64(intended.to_f64()).unwrap_or_else(|| 0.into()),
    }
}
