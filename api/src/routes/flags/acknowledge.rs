//! `POST …/flags/{flag_id}/acknowledgement`.

use actix_web::{post, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::answer::FlagAnswer;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{ClubId, FlagId, SquadId};
use crate::services::write::{self, Change};
use crate::services::{reach, text};
use crate::store::FlagState;
use crate::store::flags::{self, NewAcknowledgement};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::AcknowledgeFlags;

/// What can be done about a flag.
const ACTIONS: [&str; 6] = ["talked", "reduced", "moved", "rested", "no_change", "other"];

/// What was done about a flag.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"action": "talked", "note": "free day moved to Thursday"}))]
pub struct AcknowledgementInput {
    /// talked, reduced, moved, rested, no_change or other.
    #[schema(value_type = String)]
    action: Option<String>,
    /// At most 280 characters; needed with `other`.
    note: Option<String>,
    /// For which squad, where the athlete has several.
    #[schema(value_type = Option<SquadId>)]
    squad_id: Option<String>,
    /// The version of the flag that was seen; the current one unless given.
    version: Option<i32>,
}

/// Acknowledge a flag
///
/// Says what was done about it. When the flag is judged anew it is open again.
#[utoipa::path(
    tag = "Figures",
    operation_id = "acknowledge_flag",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("flag_id" = FlagId, Path), WriteParams, KeyHeader),
    request_body = AcknowledgementInput,
    responses((status = 201, description = "The flag as it now is", body = FlagAnswer), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/flags/{flag_id}/acknowledgement")]
pub async fn acknowledge(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, FlagId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, flag_id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let found = flags::current(change.conn, tenant, flag_id)?.ok_or_else(Problem::not_found)?;
        if !reach::of(change.conn, change.caller)?.includes(found.flag.athlete_id) {
            return Err(Problem::not_found());
        }
        let input = sent.json()?;
        let new = checked(change, &input, flag_id, found.version.version)?;
        if found.version.state == FlagState::Withdrawn {
            let detail = "The data changed and the flag was withdrawn; there is nothing to do.";
            return Err(Problem::new(Code::Withdrawn, detail));
        }
        change.store_with(|conn, tenant, moment, author| {
            flags::acknowledge(conn, tenant, moment, author, new)
        })?;
        let acknowledgements = flags::acknowledgements(change.conn, tenant, &[flag_id])?;
        Reply::json(201, &FlagAnswer::new(found, &acknowledgements)?)
    })
    .await
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
    let mut faults = Vec::new();
    let action = input.action.clone().unwrap_or_default();
    match input.action.as_deref() {
        None => faults.push(FieldProblem::missing("/action", ACTIONS.join(", "))),
        Some(given) if !ACTIONS.contains(&given) => faults.push(
            FieldProblem::new(
                "/action",
                Code::UnknownValue,
                crate::web::json::shorten_text(given),
            )
            .allowed(ACTIONS.join(", ")),
        ),
        Some("other") if input.note.is_none() => {
            faults.push(FieldProblem::missing(
                "/note",
                "a note, with the action other",
            ));
        }
        Some(_) => {}
    }
    faults.extend(
        input
            .note
            .as_deref()
            .and_then(|note| text::note("/note", note, 280).err()),
    );
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
        action,
        note: input.note.clone(),
    })
}

/// A squad within the caller's limit.
fn squad(change: &mut Change<'_>, given: &str) -> Result<Result<SquadId, FieldProblem>, Problem> {
    let unknown = || {
        FieldProblem::new(
            "/squad_id",
            Code::UnknownSquad,
            crate::web::json::shorten_text(given),
        )
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
