//! `PUT …/programmes/{programme_id}`.

use actix_web::{put, web};

use super::{location, sent};
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeId};
use crate::services::programmes::{self, ProgrammeAnswer, ProgrammeInput};
use crate::services::write;
use crate::store;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteProgrammes;

/// Put a programme
///
/// Enters a programme under an id of the caller's making (UUIDv7), or gives the one that is there a further version; as JSON or as a table,
/// as in `POST …/programmes`. Earlier versions stay readable, and who was assigned one goes on with it. Identical content needs no
/// `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "put_programme",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("programme_id" = ProgrammeId, Path), WriteParams, MatchHeader),
    request_body(content(
        (ProgrammeInput = "application/json"),
        (String = "text/csv"),
    )),
    responses(
        (status = 201, description = "Entered under the new id", body = ProgrammeAnswer),
        (status = 200, description = "Unchanged, or a new version", body = ProgrammeAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/programmes/{programme_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ProgrammeId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let body = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let made = match store::programmes::current(change.conn, tenant, id)? {
            Some(current) if !current.version.deleted => {
                let before = current.version.number;
                body.put_precondition(before)?;
                let made = programmes::replace(change, current, &sent(&body)?)?;
                body.after_put(before, made.version.number)?;
                return Reply::ok(made.version.number, &made.answer());
            }
            Some(tombstone) => {
                body.require_absent()?;
                programmes::replace(change, tombstone, &sent(&body)?)?
            }
            None => {
                body.require_absent()?;
                programmes::insert(change, id, &sent(&body)?)?
            }
        };
        Reply::created(location(club, id), made.version.number, &made.answer())
    })
    .await
}
