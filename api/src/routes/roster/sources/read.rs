//! `GET …/roster/sources/{source_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RosterSourceId};
use crate::services::roster::sources::{self, RosterSourceAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::WriteAthletes;

/// Read a roster source
///
/// Its settings but for address and credentials, how the last try went, and when the next one is due.
#[utoipa::path(
    tag = "People",
    operation_id = "read_roster_source",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("source_id" = RosterSourceId, Path)),
    responses(
        (status = 200, description = "The source", body = RosterSourceAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/roster/sources/{source_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RosterSourceId)>,
) -> Result<HttpResponse, Problem> {
    let ((_, id), tenant) = (path.into_inner(), scope.caller.tenant);
    let answer = app
        .store
        .read(tenant, move |conn| {
            RosterSourceAnswer::of(sources::find(conn, tenant, id)?)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
