//! `GET …/look-ahead`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::look_ahead::setting::{self, LookAheadSetting};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadClub;

/// Read whether and when the club looks ahead
///
/// The weekday and local time at which those who want notices are told of the weekend: how many of each squad will, or may,
/// be over a limit in the running week if what is still planned happens. Off where nothing was set.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "read_look_ahead_setting",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "Whether and when", body = LookAheadSetting,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/look-ahead")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let tenant = scope.caller.tenant;
    let answer = app
        .store
        .read(tenant, move |conn| {
            let stored = setting::stored(conn, tenant)?;
            setting::answer(conn, tenant, &stored)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
