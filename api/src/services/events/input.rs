//! A planned session as it is sent, and its checks.

use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::{Kind, Rpe, Setting};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, EventId, SquadId};
use crate::services::fields::{self, Faults};
use crate::services::local_time::{self, LocalInstant};
use crate::services::reach::{self, Reached};
use crate::services::sessions::input::{codes_of_kind, codes_of_setting};
use crate::services::write::Change;
use crate::services::zones;
use crate::store::events::Event;
use crate::store::{EventStatus, squads};
use crate::web::json::shorten_text;

/// Most squads, and most athletes by name, of one event.
pub const MOST_INVITED: usize = 500;
/// How far ahead an event may lie: later years are slips.
pub const FURTHEST_AHEAD: SignedDuration = SignedDuration::from_hours(3 * 366 * 24);

/// A planned session: what, when, how long, and who is invited.
///
/// `(source, external_id)` is the natural key, the source being the token's client: the same content
/// again is unchanged, other content is a new version.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "external_id": "hall-3301", "setting": "club", "kind": "practice",
    "starts_at": "2026-09-07T17:30:00", "time_zone": "Europe/Copenhagen", "minutes": 90,
    "intended_rpe": 6, "squads": ["0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"], "status": "planned"}))]
pub struct EventInput {
    /// The sender's own id of the event, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 200)]
    pub external_id: Option<String>,
    /// Who runs it: club, school_team, pe, second_club, prescribed_home, private, free.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String)]
    pub setting: Option<String>,
    /// What is done: practice, game, strength, conditioning, rehabilitation, other.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String)]
    pub kind: Option<String>,
    /// Start: RFC 3339 with the offset of the place; or a local time with `time_zone`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String)]
    pub starts_at: Option<String>,
    /// IANA zone of the place, for a local time or one that ends in Z.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_zone: Option<String>,
    /// Planned minutes, whole, 1 to 600.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(required = true, value_type = i32, minimum = 1, maximum = 600)]
    pub minutes: Option<Number>,
    /// How hard it is meant to be: session RPE, 0 to 10 in steps of 0.5.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<f64>, minimum = 0, maximum = 10, multiple_of = 0.5)]
    pub intended_rpe: Option<Number>,
    /// Squads invited: their members on the event's date. These, or `athletes`, or both.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Vec<SquadId>>)]
    pub squads: Option<Vec<String>>,
    /// Athletes invited by name.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Vec<AthleteId>>)]
    pub athletes: Option<Vec<String>>,
    /// planned (assumed), moved, cancelled or held. Nobody is expected at a cancelled one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub status: Option<String>,
    /// Whether it can be neither moved nor shortened, as a game.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fixed: Option<bool>,
}

/// A checked event.
#[derive(Debug)]
pub struct Checked {
    /// What is to be stored.
    pub event: Event,
    /// Whether the club's zone stood in for a missing one.
    pub zone_assumed: bool,
}

impl EventInput {
    /// The stored event in the form it could be sent in, for a merge patch.
    pub fn of(event: &Event) -> Result<Self, Problem> {
        Ok(Self {
            external_id: event.external_id.clone(),
            setting: Some(event.setting.code().to_owned()),
            kind: Some(event.kind.code().to_owned()),
            starts_at: Some(super::answer::starts_at(event)?),
            time_zone: event.time_zone.clone(),
            minutes: Some(event.minutes.into()),
            intended_rpe: event
                .intended_rpe_half
                .and_then(|half| Number::from_f64(f64::from(half) / 2.0)),
            squads: Some(event.squads.iter().map(ToString::to_string).collect()),
            athletes: Some(event.athletes.iter().map(ToString::to_string).collect()),
            status: Some(event.status.code().to_owned()),
            fixed: Some(event.is_fixed),
        })
    }
}

/// Checks an event to be stored under an id.
///
/// # Errors
/// 422 with every fault. Squads and athletes beyond the caller's reach are as unknown as absent ones.
pub fn check(
    change: &mut Change<'_>,
    event_id: EventId,
    source: &str,
    input: &EventInput,
) -> Result<Checked, Problem> {
    let mut faults = Faults::default();
    let tenant = change.tenant();
    let home = zones::of_club(change.conn, tenant)?;
    let text = |given: &'_ Option<String>| given.clone();
    let external_id = text(&input.external_id);
    let external_id = faults.take(fields::optional(
        "/external_id",
        external_id.as_deref(),
        fields::line,
    ));
    let setting = faults.take(fields::coded(
        "/setting",
        input.setting.as_deref(),
        Setting::parse,
        codes_of_setting,
    ));
    let kind = faults.take(fields::coded(
        "/kind",
        input.kind.as_deref(),
        Kind::parse,
        codes_of_kind,
    ));
    let start = faults.take(start(input, &home, change.at()));
    let minutes = faults.take(fields::minutes("/minutes", input.minutes.as_ref()));
    let intended = faults.take(intended(input));
    let status = faults.take(status(input.status.as_deref()));
    let squads = squads_invited(change, input, &mut faults)?;
    let athletes = athletes_invited(change, input, &mut faults)?;
    if faults.is_empty() && squads.is_empty() && athletes.is_empty() {
        faults.extend([FieldProblem::missing("/squads", "squads, athletes or both")]);
    }
    let made = (|| {
        let start = start?;
        let external_id = external_id?;
        let zone_assumed = start.assumed;
        let event = Event {
            event_id,
            source: source.to_owned(),
            natural_key: natural_key(event_id, external_id.as_deref()),
            external_id,
            setting: setting?,
            kind: kind?,
            starts_at: start.at,
            utc_offset_seconds: start.offset.seconds(),
            time_zone: start.zone_name,
            load_date: start.date,
            minutes: minutes?.get().into(),
            intended_rpe_half: intended?.map(|rpe| rpe.half_steps().into()),
            is_fixed: input.fixed.unwrap_or(false),
            status: status?,
            squads,
            athletes,
            calendar_id: None,
            uid: None,
            recurrence_id: None,
        };
        Some(Checked {
            event,
            zone_assumed,
        })
    })();
    faults.settle(made)
}

/// The natural key within the source: the sender's id, else our own.
fn natural_key(event_id: EventId, external_id: Option<&str>) -> String {
    match external_id {
        Some(id) => format!("id:{id}"),
        None => format!("event:{event_id}"),
    }
}

/// The natural key of an event as sent; none without an external id.
pub fn sent_key(input: &EventInput) -> Option<String> {
    let external_id = input.external_id.as_deref()?;
    // A text that no event can have, such as one with NUL, is not asked for.
    fields::line("/external_id", Some(external_id)).ok()?;
    Some(format!("id:{external_id}"))
}

fn start(
    input: &EventInput,
    home: &jiff::tz::TimeZone,
    now: Timestamp,
) -> Result<LocalInstant, FieldProblem> {
    let text = input.starts_at.as_deref().ok_or_else(|| {
        FieldProblem::missing("/starts_at", "RFC 3339, such as 2026-09-13T17:30:00+02:00")
    })?;
    let start = local_time::resolve("/starts_at", text, input.time_zone.as_deref(), home)?;
    let latest = now + FURTHEST_AHEAD;
    if start.at <= latest {
        return Ok(start);
    }
    Err(
        FieldProblem::new("/starts_at", Code::OutOfRange, shorten_text(text))
            .allowed(format!("{latest} or earlier, three years ahead")),
    )
}

fn intended(input: &EventInput) -> Result<Option<Rpe>, FieldProblem> {
    let given = input.intended_rpe.as_ref();
    given
        .map(|given| fields::rpe("/intended_rpe", Some(given)))
        .transpose()
}

fn status(given: Option<&str>) -> Result<EventStatus, FieldProblem> {
    let codes = || fields::list(EventStatus::ALL.iter().map(|status| status.code()));
    let status = fields::optional("/status", given, |pointer, given| {
        fields::coded(pointer, given, EventStatus::parse, codes)
    })?;
    Ok(status.unwrap_or(EventStatus::Planned))
}

/// The squads invited, in order, each once.
fn squads_invited(
    change: &mut Change<'_>,
    input: &EventInput,
    faults: &mut Faults,
) -> Result<Vec<SquadId>, Problem> {
    let given = ids::<SquadId>("/squads", input.squads.as_deref(), faults);
    let named: Vec<SquadId> = given.iter().map(|(_, _, id)| *id).collect();
    let limit = reach::squads(change.conn, change.caller)?;
    let (tenant, most) = (
        change.tenant(),
        i64::try_from(MOST_INVITED).unwrap_or(i64::MAX),
    );
    let known = squads::page(change.conn, tenant, Some(&named), None, most)?;
    let fits = |id: &SquadId| {
        known.iter().any(|squad| squad.squad_id == *id)
            && limit.as_ref().is_none_or(|limit| limit.contains(id))
    };
    Ok(known_of(given, fits, Code::UnknownSquad, faults))
}

/// The athletes invited by name, in order, each once.
fn athletes_invited(
    change: &mut Change<'_>,
    input: &EventInput,
    faults: &mut Faults,
) -> Result<Vec<AthleteId>, Problem> {
    use crate::store::{Known, Who, athletes};
    let given = ids::<AthleteId>("/athletes", input.athletes.as_deref(), faults);
    let named: Vec<AthleteId> = given.iter().map(|(_, _, id)| *id).collect();
    let reached: Reached = reach::of(change.conn, change.caller)?;
    let tenant = change.tenant();
    let known = athletes::known(change.conn, tenant, Who::Athletes(&named), Known::Now)?;
    let fits = |id: &AthleteId| {
        reached.includes(*id) && known.iter().any(|one| one.content.athlete_id == *id)
    };
    Ok(known_of(given, fits, Code::UnknownPerson, faults))
}

/// Reads a list of ids, each with its pointer and its text.
fn ids<I: std::str::FromStr>(
    pointer: &str,
    given: Option<&[String]>,
    faults: &mut Faults,
) -> Vec<(String, String, I)> {
    let given = given.unwrap_or_default();
    if given.len() > MOST_INVITED {
        let fault = FieldProblem::new(pointer, Code::OutOfRange, given.len());
        faults.extend([fault.allowed(format!("at most {MOST_INVITED}"))]);
        return Vec::new();
    }
    let read = |(at, text): (usize, &String)| {
        let pointer = format!("{pointer}/{at}");
        match text.parse() {
            Ok(id) => Ok((pointer, text.clone(), id)),
            Err(_) => Err(
                FieldProblem::new(pointer, Code::InvalidId, shorten_text(text)).allowed("a UUID"),
            ),
        }
    };
    let read = given.iter().enumerate().map(read);
    read.filter_map(|one| faults.take(one)).collect()
}

/// Those of the ids that are known, in order, each once; a fault for every other.
fn known_of<I: Ord>(
    given: Vec<(String, String, I)>,
    fits: impl Fn(&I) -> bool,
    unknown: Code,
    faults: &mut Faults,
) -> Vec<I> {
    let mut found = Vec::with_capacity(given.len());
    for (pointer, text, id) in given {
        if fits(&id) {
            found.push(id);
        } else {
            faults.extend([FieldProblem::new(pointer, unknown, text)]);
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}
