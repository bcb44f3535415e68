//! `POST …/roster/imports`.

use actix_web::{HttpRequest, post, web};
use plimsoll_domain::roster::Mode;
use serde::Deserialize;
use tokio::task::spawn_blocking;
use utoipa::IntoParams;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::ClubId;
use crate::services::roster::answer::{self, RosterAnswer};
use crate::services::roster::input::{self, RosterInput, Sent};
use crate::services::roster::{self, Taking, csv_rows, oneroster};
use crate::services::write;
use crate::web::params::KeyHeader;
use crate::web::query::{self, Query};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;
use crate::web::{accept, body};

type Needed = right::WriteAthletes;

/// What is answered, by `Accept`.
const ANSWERS: [&str; 2] = ["application/json", "text/csv"];
/// A OneRoster package.
const PACKAGE: &str = "application/zip";
/// What is read.
const READS: [&str; 3] = ["application/json", "text/csv", PACKAGE];

/// How a roster is taken.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RosterQuery {
    /// full: everybody is named, and memberships of who is not end with the day before. delta: what changed.
    /// A OneRoster package says it itself.
    #[param(value_type = Option<String>, pattern = "^(full|delta)$", example = "delta")]
    mode: Option<String>,
    /// Whether more than a fifth of the members may leave by a full roster.
    #[param(value_type = Option<bool>)]
    confirm_large_removal: Option<String>,
    /// `true` runs all checks and answers the same, but stores nothing.
    #[param(value_type = Option<bool>)]
    dry_run: Option<String>,
}

/// Import a roster
///
/// Squads, athletes, memberships and guardians, held against the roster that is there, in one transaction: good rows land even when
/// others are refused. An athlete is known by the external id that her source, the token's client, gives her; nobody is merged by
/// name. Leaving ends memberships and keeps all history. A likely second copy of a person is a proposal in the answer. The same
/// roster again changes nothing. A OneRoster 1.2 CSV package (1EdTech) is taken whole or refused whole; its students, classes and
/// enrolments are athletes, squads and memberships, of people only ids, names and birth dates are read. With `Accept: text/csv` the rejected rows come as a file with a code each, to be mended and sent
/// again with `mode=delta`.
#[utoipa::path(
    tag = "People",
    operation_id = "import_roster",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), RosterQuery, KeyHeader),
    request_body(content(
        (RosterInput = "application/json"),
        (String = "text/csv"),
        (String = "application/zip"),
    )),
    responses(
        (status = 200, description = "What became of each row", content(
            (RosterAnswer = "application/json"),
            (String = "text/csv"),
        )),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/roster/imports")]
pub async fn import(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    asked: Query<RosterQuery>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let Query(asked) = asked;
    let mut taking = Taking {
        dry_run: query::truth("?dry_run", asked.dry_run.as_deref())?,
        confirm_large_removal: query::truth(
            "?confirm_large_removal",
            asked.confirm_large_removal.as_deref(),
        )?,
        mode: Mode::Delta,
    };
    let answer_type = accept::preferred(&request, &ANSWERS)?;
    let media_type = body::expect_type(&request, &READS)?;
    let is_package = media_type == PACKAGE;
    if let Some(mode) = mode(asked.mode.as_deref(), is_package)? {
        taking.mode = mode;
    }
    let payload = payload.into_inner();
    let request =
        WriteRequest::read_as(taking.dry_run, &request, payload, body::BULK_LIMIT).await?;
    let bytes = request.bytes().clone();
    let read = spawn_blocking(move || read(&media_type, &bytes)).await;
    let (sent, said) = read.map_err(|error| Problem::internal(&error))??;
    if let Some(said) = said {
        agree(asked.mode.as_deref(), said)?;
        taking.mode = said;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let answer = roster::import(change, &sent, taking)?;
        match answer_type {
            "text/csv" => Ok(Reply::csv(answer::rejected_rows(&sent, &answer))),
            _ => Reply::json(200, &answer),
        }
    })
    .await
}

/// The rows of a body, and whether it says itself that it names everybody.
fn read(media_type: &str, bytes: &[u8]) -> Result<(Sent, Option<Mode>), Problem> {
    match media_type {
        PACKAGE => oneroster::read(bytes).map(|(sent, mode)| (sent, Some(mode))),
        "text/csv" => csv_rows::read(bytes).map(|sent| (sent, None)),
        _ => input::read_json(bytes).map(|sent| (sent, None)),
    }
}

/// The mode that is asked for, which only a package may leave out.
fn mode(given: Option<&str>, is_package: bool) -> Result<Option<Mode>, Problem> {
    if given.is_none() && is_package {
        return Ok(None);
    }
    let codes = [Mode::Full.code(), Mode::Delta.code()];
    Ok(Mode::parse(query::one_of("?mode", given, &codes)?))
}

/// Refuses a mode that is not the package's own.
fn agree(given: Option<&str>, said: Mode) -> Result<(), Problem> {
    match given {
        Some(given) if given != said.code() => Err(query::bad(
            FieldProblem::new("?mode", Code::UnknownValue, given)
                .allowed(format!("{}, as the manifest says", said.code())),
        )),
        _ => Ok(()),
    }
}
