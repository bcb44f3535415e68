//! `POST …/programmes`.

use actix_web::{post, web};

use super::{location, sent};
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::programmes::{self, ProgrammeAnswer, ProgrammeInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteProgrammes;

/// Enter a programme
///
/// As JSON, or as a table (text/csv, RFC 4180) with a header and a line an item; a byte order mark, CRLF and semicolons between cells are
/// taken as they come. Its columns: programme, block, week (numbered through all blocks), day, session (its number on the day; 1 where empty),
/// session_name, setting, kind, start, minutes, intended_rpe, order (of the item in the session; as the lines stand where empty), exercise, sets, one of reps (with
/// hold_seconds), seconds and distance ("forward 15; back 15", with distance_unit and returns_to_start), side, load with load_unit or band,
/// rest_seconds, set_up_from, set_up_to and set_up_unit, height_from, height_to and height_unit, note. What belongs to the programme, a block or
/// a session is the same on each of its lines; a session without items has one line, and so has a week off. What is wrong is told by line
/// and column (`/rows/12/reps`, the first line after the header being 1), and then nothing is stored. An empty cell is not known, never 0.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "create_programme",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body(content(
        (ProgrammeInput = "application/json"),
        (String = "text/csv"),
    )),
    responses(
        (status = 201, description = "Entered", body = ProgrammeAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/programmes")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let sent = sent(&request)?;
    write::run(&app, scope.caller, &request, move |change| {
        let id = change.new_id();
        let made = programmes::insert(change, id, &sent)?;
        Reply::created(location(club, id), made.version.number, &made.answer())
    })
    .await
}
