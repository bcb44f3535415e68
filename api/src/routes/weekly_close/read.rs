//! `GET …/weekly-close`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::closing::{self, ClosingAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadClub;

/// Read when the week is closed
///
/// The weekday and local time at which the week before is closed: its list frozen, its flags judged.
/// Monday at 07:00 where nothing else was set.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "read_weekly_close",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "When the week is closed", body = ClosingAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/weekly-close")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let tenant = scope.caller.tenant;
    let answer = app
        .store
        .read(tenant, move |conn| {
            let stored = closing::stored(conn, tenant)?;
            closing::answer(conn, tenant, stored)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
