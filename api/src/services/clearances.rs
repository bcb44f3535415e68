//! Clearance records: what a licensed clinician decided, kept as it was given and never changed.
//!
//! The service decides nothing: it has no default decision, and no figure leads to one.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::people::{Naming, People};
use super::write::Change;
use super::{clinician, reach, restrictions, zones};
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClearanceId, RestrictionId};
use crate::store::clearances::{self, Clearance, ClearanceRecord};
use crate::store::licences::Licence;
use crate::store::restrictions::{self as stored, Restriction};
use crate::store::{Conn, Decision};
use crate::web::json::shorten_text;

/// A decision as a clinician gives it. Name and licence come from the licence on file. Exactly one of
/// `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "athlete_external_id": "P-31", "decision": "return_to_participation",
    "scope": "practice without contact", "decided_on": "2026-11-20",
    "document_reference": "folder 12, page 3"}))]
pub struct ClearanceInput {
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// The restriction it is about. One that waits for a written clearance ends on `decided_on`, unless
    /// the decision is not_yet.
    #[schema(format = Uuid)]
    pub restriction_id: Option<String>,
    /// return_to_participation, return_to_sport, return_to_performance or not_yet; the last also withdraws
    /// an earlier one. Nothing is assumed.
    #[schema(value_type = String)]
    pub decision: Option<String>,
    /// What it covers, 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub scope: Option<String>,
    /// When it was decided; not in the future.
    #[schema(value_type = String, format = Date)]
    pub decided_on: Option<String>,
    /// Where the signed document is kept, 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub document_reference: Option<String>,
}

/// A clearance record.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "clearance_id": "0199a1b2-8888-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "restriction_id": null,
    "decision": "return_to_participation", "scope": "practice without contact", "name": "Vera Holm",
    "licence_type": "physiotherapist", "decided_on": "2026-11-20",
    "document_reference": "folder 12, page 3", "received_at": "2026-11-20T17:05:00Z"}))]
pub struct ClearanceAnswer {
    /// Its id.
    pub clearance_id: ClearanceId,
    /// About whom.
    pub athlete_id: AthleteId,
    /// The restriction it is about.
    pub restriction_id: Option<RestrictionId>,
    /// What the clinician decided.
    #[schema(value_type = String)]
    pub decision: &'static str,
    /// What it covers.
    pub scope: String,
    /// The clinician's name, from the licence on file then.
    pub name: String,
    /// The licence on file then.
    pub licence_type: String,
    /// When it was decided.
    #[schema(value_type = String, format = Date)]
    pub decided_on: Date,
    /// Where the signed document is kept.
    pub document_reference: String,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
}

impl From<ClearanceRecord> for ClearanceAnswer {
    fn from(record: ClearanceRecord) -> Self {
        let ClearanceRecord {
            content,
            received_at,
            ..
        } = record;
        Self {
            clearance_id: content.clearance_id,
            athlete_id: content.athlete_id,
            restriction_id: content.restriction_id,
            decision: content.decision.code(),
            scope: content.scope.into_inner(),
            name: content.name,
            licence_type: content.licence_type,
            decided_on: content.decided_on,
            document_reference: content.document_reference.into_inner(),
            received_at,
        }
    }
}

/// Puts a decision on record.
///
/// # Errors
/// 403 without a licence on file, or about oneself; 422 with every fault.
pub fn enter(change: &mut Change<'_>, input: &ClearanceInput) -> Result<ClearanceAnswer, Problem> {
    let licence = clinician::licensed(change)?;
    let (clearance, about) = checked(change, input, licence)?;
    clinician::not_about_herself(change, clearance.athlete_id)?;
    let (id, decided_on) = (clearance.clearance_id, clearance.decided_on);
    change.store_with(|conn, tenant, moment, author| {
        clearances::append(conn, tenant, moment, author, clearance)
    })?;
    if let Some(restriction) = about.filter(|one| one.written_clearance.is_some()) {
        restrictions::judge_since(change, &restriction, decided_on)?;
    }
    Ok(find(change.conn, change.caller, id)?.into())
}

/// The decision of an id within the caller's reach.
pub fn find(conn: &mut Conn, caller: &Caller, id: ClearanceId) -> Result<ClearanceRecord, Problem> {
    let found = clearances::find(conn, caller.tenant, id)?.ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// The decision, and the restriction it names.
fn checked(
    change: &mut Change<'_>,
    input: &ClearanceInput,
    licence: Licence,
) -> Result<(Clearance, Option<Restriction>), Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let naming = Naming {
        athlete_id: input.athlete_id.as_deref(),
        athlete_external_id: input.athlete_external_id.as_deref(),
    };
    let mut faults = Faults::default();
    let subject = People::subject_of(change, naming)?;
    let subject = faults.take(subject);
    let athlete = subject.map(|subject| subject.athlete_id);
    let about = named(change, input.restriction_id.as_deref(), athlete)?;
    let about = faults.take(about);
    let began = about.as_ref().and_then(Option::as_ref);
    let began = began.map(|restriction| restriction.from_date);
    let decided_on = faults.take(decided_on(input.decided_on.as_deref(), today, began));
    let codes = || fields::list(Decision::ALL.iter().map(|value| value.code()));
    let decision = input.decision.as_deref();
    let decision = faults.take(fields::coded("/decision", decision, Decision::parse, codes));
    let scope = faults.take(fields::line("/scope", input.scope.as_deref()));
    let kept = input.document_reference.as_deref();
    let kept = faults.take(fields::line("/document_reference", kept));
    let made = match (athlete, about, decided_on, decision, scope, kept) {
        (
            Some(athlete_id),
            Some(about),
            Some(decided_on),
            Some(decision),
            Some(scope),
            Some(kept),
        ) => {
            let clearance = Clearance {
                clearance_id: change.new_id(),
                athlete_id,
                restriction_id: about.as_ref().map(|one| one.restriction_id),
                decision,
                scope: scope.into(),
                name: licence.name,
                licence_type: licence.licence_type,
                decided_on,
                document_reference: kept.into(),
            };
            Some((clearance, about))
        }
        _ => None,
    };
    faults.settle(made)
}

/// The restriction a decision names, which has to be the athlete's.
fn named(
    change: &mut Change<'_>,
    given: Option<&str>,
    athlete: Option<AthleteId>,
) -> Result<Result<Option<Restriction>, FieldProblem>, Problem> {
    let Some(given) = given else {
        return Ok(Ok(None));
    };
    let tenant = change.tenant();
    let found = match given.parse() {
        Ok(id) => stored::current(change.conn, tenant, id)?,
        Err(_) => None,
    };
    let found = found.filter(|one| !one.version.deleted && Some(one.content.athlete_id) == athlete);
    Ok(found.map(|one| Some(one.content)).ok_or_else(|| {
        let given = shorten_text(given);
        FieldProblem::new("/restriction_id", Code::UnknownRestriction, given)
            .allowed("a restriction of this athlete")
    }))
}

fn decided_on(given: Option<&str>, today: Date, began: Option<Date>) -> Result<Date, FieldProblem> {
    let decided = fields::date("/decided_on", given)?;
    if decided > today {
        let fault = FieldProblem::new("/decided_on", Code::InFuture, decided.to_string());
        return Err(fault.allowed(format!("not after {today}")));
    }
    match began {
        Some(began) if decided < began => {
            let fault = FieldProblem::new("/decided_on", Code::OutOfRange, decided.to_string());
            Err(fault.allowed(format!("{began} or later, when the restriction began")))
        }
        _ => Ok(decided),
    }
}
