//! What a question is about: a session that was logged, one that is expected, or an item of a programme.

use serde::{Deserialize, Serialize};
use serde_json::{Number, Value};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, EventId, ProgrammeAssignmentId, SessionId};
use crate::services::fields::{self, Faults};
use crate::services::programmes::assigned;
use crate::services::write::Change;
use crate::store::{Known, expected, sessions};
use crate::web::json::shorten_text;

const WHICH: &str = "one of session_id, event_id and assignment_id";

/// What a question is about: `session_id`, `event_id`, or `assignment_id` with `date` and `item`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"session_id": "0199a1b2-7777-7e4f-8a5b-6c7d8e9f0a1b"}))]
pub struct AboutBody {
    /// A session that she has logged.
    #[schema(format = Uuid)]
    pub session_id: Option<String>,
    /// A planned session that she is expected at.
    #[schema(format = Uuid)]
    pub event_id: Option<String>,
    /// The assignment by which she does a programme.
    #[schema(format = Uuid)]
    pub assignment_id: Option<String>,
    /// The date of the session in the programme.
    #[schema(value_type = Option<String>, format = Date)]
    pub date: Option<String>,
    /// The session's number on that day; 1 unless given.
    #[schema(value_type = Option<u8>)]
    pub session: Option<Number>,
    /// The item's number in the session.
    #[schema(value_type = Option<u8>)]
    pub item: Option<Number>,
}

/// What a question is about; what it is not about is null.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({"session_id": null, "event_id": null, "assignment_id": "0199a1b2-9e9e-7e4f-8a5b-6c7d8e9f0a1b",
    "date": "2026-11-10", "session": 1, "item": 2, "exercise": "squat"}))]
pub struct About {
    /// A session that she has logged.
    #[schema(value_type = Option<SessionId>)]
    pub session_id: Option<String>,
    /// A planned session that she is expected at.
    #[schema(value_type = Option<EventId>)]
    pub event_id: Option<String>,
    /// The assignment by which she does a programme.
    #[schema(value_type = Option<ProgrammeAssignmentId>)]
    pub assignment_id: Option<String>,
    /// The date of the session in the programme.
    #[schema(value_type = Option<String>, format = Date)]
    pub date: Option<String>,
    /// The session's number on that day.
    pub session: Option<u8>,
    /// The item's number in the session.
    pub item: Option<u8>,
    /// The code of the item's exercise.
    pub exercise: Option<String>,
}

/// What it is about as it is kept, where there is such a thing in her record.
pub(super) fn check(
    change: &mut Change<'_>,
    athlete: AthleteId,
    about: Option<&AboutBody>,
    faults: &mut Faults,
) -> Result<Option<Value>, Problem> {
    let Some(about) = about else {
        faults.extend([FieldProblem::missing("/about", WHICH)]);
        return Ok(None);
    };
    let named = [&about.session_id, &about.event_id, &about.assignment_id];
    let of_item = about.date.is_some() || about.session.is_some() || about.item.is_some();
    let found = match named {
        [Some(id), None, None] if !of_item => session(change, athlete, id)?,
        [None, Some(id), None] if !of_item => event(change, athlete, id)?,
        [None, None, Some(id)] => return item(change, athlete, (id, about), faults),
        [None, None, None] => Err(FieldProblem::missing("/about", WHICH)),
        _ => {
            let fault = FieldProblem::new("/about", Code::AmbiguousQuestion, value(about)?);
            Err(fault.allowed(WHICH))
        }
    };
    faults.take(found).map(|kept| value(&kept)).transpose()
}

type Found = Result<About, FieldProblem>;

fn session(change: &mut Change<'_>, athlete: AthleteId, given: &str) -> Result<Found, Problem> {
    let tenant = change.tenant();
    let found = match given.parse::<SessionId>() {
        Ok(id) => sessions::current(change.conn, tenant, id)?,
        Err(_) => None,
    };
    let is_hers =
        found.is_some_and(|one| one.content.athlete_id == athlete && !one.version.deleted);
    let about = About {
        session_id: Some(given.to_owned()),
        ..About::default()
    };
    Ok(hers(is_hers, about, "/about/session_id", given))
}

fn event(change: &mut Change<'_>, athlete: AthleteId, given: &str) -> Result<Found, Problem> {
    let tenant = change.tenant();
    let invited = match given.parse::<EventId>() {
        Ok(id) => expected::of_event(change.conn, tenant, id)?,
        Err(_) => Vec::new(),
    };
    let is_hers = invited.iter().any(|one| one.athlete_id == athlete);
    let about = About {
        event_id: Some(given.to_owned()),
        ..About::default()
    };
    Ok(hers(is_hers, about, "/about/event_id", given))
}

fn hers(is_hers: bool, about: About, pointer: &str, given: &str) -> Found {
    match is_hers {
        true => Ok(about),
        false => {
            let fault = FieldProblem::new(pointer, Code::NotHers, shorten_text(given));
            Err(fault.allowed("the id of one of hers"))
        }
    }
}

/// An item of what she is to do on a date, with the exercise it names.
fn item(
    change: &mut Change<'_>,
    athlete: AthleteId,
    (id, about): (&str, &AboutBody),
    faults: &mut Faults,
) -> Result<Option<Value>, Problem> {
    const NUMBER: &str = "a number from 1";
    let date = faults.take(fields::date("/about/date", about.date.as_deref()));
    let number = |pointer: &str, given: Option<&Number>| {
        fields::whole_of(pointer, given, NUMBER, |one| {
            u8::try_from(one).map_err(|_| ())
        })
    };
    let session = match &about.session {
        None => Some(1),
        some => faults.take(number("/about/session", some.as_ref())),
    };
    let item = faults.take(number("/about/item", about.item.as_ref()));
    let (Some(date), Some(session), Some(item)) = (date, session, item) else {
        return Ok(None);
    };
    let tenant = change.tenant();
    let id = id.parse::<ProgrammeAssignmentId>().ok();
    let to_do = assigned::read(change.conn, tenant, athlete, (date, date), Known::Now)?;
    let sessions = to_do.sessions.iter();
    let mut sessions = sessions.filter(|one| Some(one.assignment_id) == id);
    let found = sessions.find(|one| one.session.number == session);
    let items = found.iter().flat_map(|found| &found.items);
    let exercise = items
        .map(|one| &one.item)
        .find(|one| one.number == item)
        .map(|one| one.exercise.clone());
    let Some(exercise) = exercise else {
        let given = value(about)?;
        let fault = FieldProblem::new("/about/item", Code::NotHers, given);
        faults.extend([fault.allowed("an item of what she is to do on that date")]);
        return Ok(None);
    };
    let kept = About {
        assignment_id: about.assignment_id.clone(),
        date: Some(date.to_string()),
        session: Some(session),
        item: Some(item),
        exercise: Some(exercise),
        ..About::default()
    };
    value(&kept).map(Some)
}

fn value(about: &impl Serialize) -> Result<Value, Problem> {
    serde_json::to_value(about).map_err(|error| Problem::internal(&error))
}
