//! Landing contacts of planned items, before they are done. Nothing of it is stored.

pub(crate) mod input;
mod programme;

pub use input::{Item, ItemInput};
pub use programme::{CheckedProgramme, CheckedSession};

use std::collections::BTreeSet;

use jiff::Timestamp;
use plimsoll_domain::contacts::{Contacts, contacts};
use plimsoll_domain::exercises::{Catalogue, ExerciseCode};
use plimsoll_domain::jump_rules::{jump_gap, landing_contacts};
use plimsoll_domain::programme::{Changes, UnsignedLoad, unsigned_load};
use plimsoll_domain::{Policy, Reason, RuleCode};
use serde::Deserialize;
use utoipa::ToSchema;

use super::as_of::AsOf;
use super::contacts::athlete::JudgedRule;
use super::exercises::ClubCatalogue;
use super::fields::Faults;
use super::policy::Policies;
use super::programmes::{NamedProgramme, ReadProgramme, unsigned_faults};
use super::sign_offs::SignOffs;
use super::{local_time, reach, zones};
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::AthleteId;
use crate::store::{Conn, Known};

/// Most items of a check.
pub const MOST_ITEMS: usize = 60;

/// Planned items of one session, or a stored programme.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "items": [{"exercise": "hurdle_hop_both_feet", "sets": 4, "reps": 5},
        {"inline": {"landing": "each_foot"}, "sets": 2, "reps": 6},
        {"exercise": "shuttle_run", "sets": 3, "distance": {"legs": [15, -15], "unit": "m", "returns_to_start": true}}],
    "starts_at": "2026-09-10T17:30:00+02:00", "last_jumps_ended_at": "2026-09-08T19:00:00+02:00"}))]
pub struct ContactCheckInput {
    /// The items, 1 to 60; or a programme.
    pub items: Option<Vec<ItemInput>>,
    /// A stored programme, of which each session and each week is counted.
    pub programme: Option<NamedProgramme>,
    /// For whom: loaded jumps are then taken only after their sign-off.
    #[schema(value_type = Option<AthleteId>)]
    pub athlete_id: Option<String>,
    /// When it begins, with its offset; the policy of that date counts, else today's.
    #[schema(format = DateTime)]
    pub starts_at: Option<String>,
    /// When the last session with jumps ended, with its offset.
    #[schema(format = DateTime)]
    pub last_jumps_ended_at: Option<String>,
}

/// What planned items come to.
#[derive(Debug)]
pub struct ContactCheck {
    /// The items.
    pub items: Vec<Item>,
    /// Their landings in all.
    pub contacts: Contacts,
    /// Seconds from the end of the last jumps to the start, where both are given.
    pub since_last_jumps: Option<i64>,
    /// The policy in force on the date.
    pub policy_version: Option<u32>,
    /// What it says of the landings.
    pub landing_contacts: Option<JudgedRule>,
    /// What it says of the time since the last jumps; `None` too where nothing is jumped.
    pub jump_gap: Option<JudgedRule>,
    /// Its sessions and weeks, where a programme was asked about.
    pub programme: Option<CheckedProgramme>,
}

/// When it begins and when the last jumps ended.
#[derive(Clone, Copy)]
struct Times {
    start: Option<Timestamp>,
    last_end: Option<Timestamp>,
}

/// The athlete a check is for.
///
/// # Errors
/// 422.
pub fn athlete(input: &ContactCheckInput) -> Result<Option<AthleteId>, Problem> {
    let named = input.athlete_id.as_deref().map(|text| {
        text.parse().map_err(|_| {
            let fault = FieldProblem::new("/athlete_id", Code::InvalidId, text);
            Problem::field(fault.allowed("a UUID"))
        })
    });
    named.transpose()
}

/// Counts planned items and holds them against the policy.
///
/// # Errors
/// 404 for an athlete out of reach; 422 with every fault.
pub fn check(
    conn: &mut Conn,
    caller: &Caller,
    input: &ContactCheckInput,
    as_of: AsOf,
) -> Result<ContactCheck, Problem> {
    let tenant = caller.tenant;
    let (catalogue, signed) = match athlete(input)? {
        Some(athlete) => {
            reach::athlete(conn, caller, athlete)?;
            let all = SignOffs::read(conn, tenant, athlete, Known::Now)?;
            let standing = all.progress().standing().clone();
            (all.catalogue, Some(standing))
        }
        None => (ClubCatalogue::read(conn, tenant, Known::Now)?, None),
    };
    let mut faults = Faults::default();
    let times = times(input, &mut faults);
    let planned = match (&input.items, &input.programme) {
        (Some(_), Some(_)) => {
            let fault = FieldProblem::new("/programme", Code::AmbiguousPlan, "a programme");
            faults.extend([fault.allowed(PLANNED)]);
            None
        }
        (_, None) => {
            items(input, &catalogue.catalogue, signed.as_ref(), &mut faults).map(Planned::Items)
        }
        (None, Some(named)) => {
            let read = faults.take(named.read(conn, tenant, ("/programme", Known::Now))?);
            if let (Some(read), Some(signed)) = (&read, &signed) {
                let all = (&read.programme, &Changes::default());
                faults.extend(unsigned_faults("/programme", all, &catalogue, signed)?);
            }
            if input.last_jumps_ended_at.is_some() {
                let fault = FieldProblem::new(
                    "/last_jumps_ended_at",
                    Code::AmbiguousPlan,
                    input.last_jumps_ended_at.clone(),
                );
                faults.extend([fault.allowed("only with items")]);
            }
            read.map(Planned::Programme)
        }
    };
    let (planned, times) = faults.settle(planned.zip(times))?;
    let zone = zones::of_club(conn, tenant)?;
    let date = zone.to_datetime(times.start.unwrap_or(as_of.now)).date();
    let policies = Policies::read(conn, tenant, Known::Now)?;
    let policy = policies.at(date);
    Ok(match planned {
        Planned::Items(items) => ContactCheck::of(items, times, policy),
        Planned::Programme(read) => programme::check(&read, &catalogue.catalogue, policy),
    })
}

const PLANNED: &str = "one of items and programme";

/// What is asked about.
enum Planned {
    Items(Vec<Item>),
    Programme(ReadProgramme),
}

impl ContactCheck {
    fn of(items: Vec<Item>, times: Times, policy: Option<&Policy>) -> Self {
        let planned: Vec<_> = items.iter().map(|item| item.planned).collect();
        let contacts = contacts(&planned);
        let Times { start, last_end } = times;
        let seconds = |end: Timestamp| Some(start?.as_second() - end.as_second());
        let jumps = contacts.events() > 0 || contacts.not_known > 0;
        let rule = |code| policy.and_then(|policy| policy.rule(code)).cloned();
        Self {
            landing_contacts: rule(RuleCode::LandingContacts).map(|rule| JudgedRule {
                judged: Ok(landing_contacts(rule.limit, &contacts)),
                rule,
            }),
            jump_gap: rule(RuleCode::JumpGap).filter(|_| jumps).map(|rule| {
                let gap = last_end.and_then(seconds).ok_or(Reason::NothingBefore);
                JudgedRule {
                    judged: gap.map(|gap| jump_gap(rule.limit, 0, gap)),
                    rule,
                }
            }),
            since_last_jumps: last_end.and_then(seconds),
            policy_version: policy.map(|policy| policy.version),
            contacts,
            items,
            programme: None,
        }
    }
}

fn items(
    input: &ContactCheckInput,
    catalogue: &Catalogue,
    signed: Option<&BTreeSet<ExerciseCode>>,
    faults: &mut Faults,
) -> Option<Vec<Item>> {
    let items = input.items.as_deref().unwrap_or_default();
    if !(1..=MOST_ITEMS).contains(&items.len()) {
        let fault = FieldProblem::new("/items", Code::OutOfRange, items.len());
        faults.extend([fault.allowed(format!("1 to {MOST_ITEMS} items, or a programme"))]);
        return None;
    }
    let checked = items.iter().enumerate();
    let checked: Vec<_> = checked
        .map(|(place, item)| item.check(&format!("/items/{place}"), catalogue, faults))
        .collect();
    let items: Vec<Item> = checked.into_iter().collect::<Option<_>>()?;
    if let Some(signed) = signed {
        let unsigned = items.iter().enumerate();
        faults.extend(
            unsigned.filter_map(|(place, item)| unsigned_item(place, item, catalogue, signed)),
        );
    }
    Some(items)
}

fn times(input: &ContactCheckInput, faults: &mut Faults) -> Option<Times> {
    let mut read = |pointer: &str, given: Option<&str>| {
        let read = given.map(|given| local_time::instant(pointer, given));
        faults.take(read.transpose())
    };
    let start = read("/starts_at", input.starts_at.as_deref())?;
    let last_end = read("/last_jumps_ended_at", input.last_jumps_ended_at.as_deref())?;
    match (start, last_end) {
        (None, Some(_)) => {
            let allowed = "an instant, where last_jumps_ended_at is given";
            faults.extend([FieldProblem::missing("/starts_at", allowed)]);
            None
        }
        (Some(start), Some(end)) if start < end => {
            let pointer = "/last_jumps_ended_at";
            let fault = FieldProblem::new(pointer, Code::RangeReversed, end.to_string());
            faults.extend([fault.allowed(format!("{start} or earlier"))]);
            None
        }
        _ => Some(Times { start, last_end }),
    }
}

/// A loaded jump that is not signed off: the exercise itself, or any of its step where it is in no catalogue or gets its load here.
fn unsigned_item(
    place: usize,
    item: &Item,
    catalogue: &Catalogue,
    signed: &BTreeSet<ExerciseCode>,
) -> Option<FieldProblem> {
    let unsigned = unsigned_load(item.exercise.as_ref(), &item.planned, catalogue, signed)?;
    let given = item.exercise.as_ref();
    let given = given.map_or("inline", |one| one.code.as_str());
    let fault = FieldProblem::new(format!("/items/{place}"), Code::LoadNotSignedOff, given);
    Some(fault.allowed(after(&unsigned)))
}

/// After which sign-off a loaded jump may be planned.
pub fn after(unsigned: &UnsignedLoad) -> String {
    match unsigned {
        UnsignedLoad::Exercise(code) => format!("after sign-off of {code}"),
        UnsignedLoad::Step(step) => {
            format!("after sign-off of an exercise that lands {}", step.code())
        }
    }
}
