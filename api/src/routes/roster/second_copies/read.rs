//! `GET …/roster/second-copies/{second_copy_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SecondCopyId};
use crate::services::roster::second_copies::{self, SecondCopyEntry};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::DecideSecondCopies;

/// Read whether two records are one person
#[utoipa::path(
    tag = "People",
    operation_id = "read_second_copy",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("second_copy_id" = SecondCopyId, Path)),
    responses(
        (status = 200, description = "Both records, and what was decided", body = SecondCopyEntry,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/roster/second-copies/{second_copy_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SecondCopyId)>,
) -> Result<HttpResponse, Problem> {
    let ((_, id), tenant) = (path.into_inner(), scope.caller.tenant);
    let answer = app
        .store
        .read(tenant, move |conn| second_copies::entry(conn, tenant, id))
        .await?;
    Ok(found(answer.version, &answer))
}
