//! What was done about a flag: said by somebody for a version of the flag, and good until the flag grows.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::write::Change;
use super::{reach, text};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{FlagId, SquadId};
use crate::store::flags::{
    self, Acknowledgement, FlagVersion, Judged, NewAcknowledgement, acknowledgements,
};
use crate::store::{Certainty, Conn, FlagState, Known, Private, Tenant};
use crate::web::json::shorten_text;

/// What can be done about a flag.
pub const ACTIONS: [&str; 6] = ["talked", "reduced", "moved", "rested", "no_change", "other"];

/// Most characters of a note.
pub const NOTE_LENGTH: usize = 280;

/// What was done about a flag.
#[derive(Debug, Clone, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"action": "talked", "note": "free day moved to Thursday"}))]
pub struct AcknowledgementInput {
    /// talked, reduced, moved, rested, no_change or other.
    #[schema(value_type = String)]
    pub action: Option<String>,
    /// At most 280 characters; needed with `other`.
    pub note: Option<String>,
    /// For which squad, where the athlete has several.
    #[schema(value_type = Option<SquadId>)]
    pub squad_id: Option<String>,
    /// The version of the flag that was seen; the current one unless given.
    pub version: Option<i32>,
}

/// A flag of an athlete within the caller's reach, as it stands; else a 404.
pub fn find(change: &mut Change<'_>, flag_id: FlagId) -> Result<Judged, Problem> {
    let tenant = change.tenant();
    let found = flags::current(change.conn, tenant, flag_id)?.ok_or_else(Problem::not_found)?;
    if !reach::of(change.conn, change.caller)?.includes(found.flag.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// Stores what was done about a flag that was found, and gives all that was ever done about it.
pub fn store(
    change: &mut Change<'_>,
    found: &Judged,
    input: &AcknowledgementInput,
) -> Result<Vec<Acknowledgement>, Problem> {
    let flag_id = found.flag.flag_id;
    let new = checked(change, input, flag_id, found.version.version)?;
    if found.version.state == FlagState::Withdrawn {
        let detail = "The data changed and the flag was withdrawn; there is nothing to do.";
        return Err(Problem::new(Code::Withdrawn, detail));
    }
    change.store_with(|conn, tenant, moment, author| {
        flags::acknowledge(conn, tenant, moment, author, new)
    })?;
    let tenant = change.tenant();
    Ok(acknowledgements(change.conn, tenant, &[flag_id])?)
}

fn checked(
    change: &mut Change<'_>,
    input: &AcknowledgementInput,
    flag_id: FlagId,
    current: i32,
) -> Result<NewAcknowledgement, Problem> {
    if input.version.is_some_and(|seen| seen != current) {
        let detail = "The flag was judged anew since you read it; read it again.";
        return Err(Problem::new(Code::PreconditionFailed, detail));
    }
    let mut faults: Vec<FieldProblem> = action_fault(input).into_iter().collect();
    let note = input.note.as_deref();
    faults.extend(note.and_then(|note| text::note("/note", note, NOTE_LENGTH).err()));
    let squad_id = match input.squad_id.as_deref() {
        None => None,
        Some(given) => squad(change, given)?
            .map_err(|fault| faults.push(fault))
            .ok(),
    };
    if !faults.is_empty() {
        return Err(Problem::invalid(faults));
    }
    Ok(NewAcknowledgement {
        acknowledgement_id: change.new_id(),
        flag_id,
        flag_version: current,
        squad_id,
        action: input.action.clone().unwrap_or_default(),
        note: input.note.clone().map(Private::from),
    })
}

fn action_fault(input: &AcknowledgementInput) -> Option<FieldProblem> {
    let allowed = || ACTIONS.join(", ");
    match input.action.as_deref() {
        None => Some(FieldProblem::missing("/action", allowed())),
        Some(given) if !ACTIONS.contains(&given) => Some(
            FieldProblem::new("/action", Code::UnknownValue, shorten_text(given))
                .allowed(allowed()),
        ),
        Some("other") if input.note.is_none() => Some(FieldProblem::missing(
            "/note",
            "a note, with the action other",
        )),
        Some(_) => None,
    }
}

/// A squad within the caller's limit.
fn squad(change: &mut Change<'_>, given: &str) -> Result<Result<SquadId, FieldProblem>, Problem> {
    let unknown = || {
        FieldProblem::new("/squad_id", Code::UnknownSquad, shorten_text(given))
            .allowed("a squad of this club")
    };
    let Ok(id) = given.parse::<SquadId>() else {
        return Ok(Err(unknown()));
    };
    match reach::squad(change.conn, change.caller, id) {
        Ok(squad) => Ok(Ok(squad.squad_id)),
        Err(problem) if problem.code == Code::NotFound => Ok(Err(unknown())),
        Err(problem) => Err(problem),
    }
}

/// What was last done, for this squad or for any, about each flag that has not grown since. Two queries, however many flags.
pub fn standing(
    conn: &mut Conn,
    tenant: Tenant,
    squad_id: SquadId,
    judged: &[Judged],
    known: Known,
) -> Result<BTreeMap<FlagId, Acknowledgement>, Problem> {
    let ids: Vec<FlagId> = judged.iter().map(|judged| judged.flag.flag_id).collect();
    let said = acknowledgements(conn, tenant, &ids)?.into_iter();
    let of_squad = said.filter(|one| {
        let is_known = match known {
            Known::Now => true,
            Known::AsOf(at) => one.received_at <= at,
        };
        is_known && one.squad_id.is_none_or(|squad| squad == squad_id)
    });
    // In the order received, so that the last one of a flag stays.
    let mut last: BTreeMap<FlagId, Acknowledgement> =
        of_squad.map(|one| (one.flag_id, one)).collect();
    let ids: Vec<FlagId> = last.keys().copied().collect();
    let versions = flags::histories(conn, tenant, &ids)?;
    for now in judged {
        let flag_id = now.flag.flag_id;
        let seen = last.get(&flag_id).map(|one| one.flag_version);
        let mut of_flag = versions.iter().filter(|one| one.flag_id == flag_id);
        let seen = of_flag.find(|one| Some(one.version) == seen);
        if seen.is_some_and(|seen| has_grown(seen, &now.version)) {
            last.remove(&flag_id);
        }
    }
    Ok(last)
}

/// Whether a later judgement is surer, or further above the limit at any end of what it depends on.
fn has_grown(seen: &FlagVersion, now: &FlagVersion) -> bool {
    // A figure that is there and has no number has no bound: seven equal days, for one.
    let above = |version: &FlagVersion, figure: &str, end: &str| {
        let value = version.body.get(figure)?.get(end)?;
        Some(value.as_f64().unwrap_or(f64::INFINITY))
    };
    let figures = ["over_by_au", "monotony"].into_iter();
    let mut ends = figures.flat_map(|figure| ["point", "low", "high"].map(|end| (figure, end)));
    let is_surer = now.certainty == Certainty::Certain && seen.certainty != Certainty::Certain;
    is_surer || ends.any(|(figure, end)| above(now, figure, end) > above(seen, figure, end))
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use serde_json::json;
    use uuid::Uuid;

    use super::*;

    fn version(certainty: Certainty, over_by: [i32; 3]) -> FlagVersion {
        let [low, point, high] = over_by;
        FlagVersion {
            flag_id: Uuid::nil().into(),
            version: 1,
            state: FlagState::Raised,
            certainty,
            policy_version: 1,
            cause: "week_closed".to_owned(),
            body: json!({ "over_by_au": { "low": low, "point": point, "high": high }, "monotony": null }),
            received_at: Timestamp::UNIX_EPOCH,
            superseded_at: None,
            seq: 1,
        }
    }

    #[test]
    fn a_flag_grows_at_either_end_or_by_becoming_certain() {
        use Certainty::{Certain, Possible};
        let seen = version(Possible, [-100, 50, 400]);
        for (now, grown) in [
            (version(Possible, [-100, 50, 400]), false),
            (version(Possible, [-200, 0, 300]), false),
            (version(Possible, [-90, 50, 300]), true),
            (version(Possible, [-100, 60, 300]), true),
            (version(Possible, [-100, 50, 410]), true),
            (version(Certain, [-100, 50, 400]), true),
        ] {
            assert_eq!(has_grown(&seen, &now), grown, "{:?}", now.body);
        }
        assert!(!has_grown(
            &version(Certain, [1, 1, 1]),
            &version(Possible, [0, 1, 1])
        ));
    }

    #[test]
    fn without_a_load_to_compare_monotony_tells() {
        let of = |point: f64| FlagVersion {
            body: json!({ "over_by_au": null, "monotony": { "point": point, "low": point, "high": point } }),
            ..version(Certainty::Certain, [0, 0, 0])
        };
        assert!(has_grown(&of(2.1), &of(2.2)));
        assert!(!has_grown(&of(2.1), &of(2.1)));
        // JSON has no infinity: it is null.
        assert!(has_grown(&of(2.1), &of(f64::INFINITY)));
    }
}
