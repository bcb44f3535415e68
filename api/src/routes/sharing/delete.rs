//! `DELETE …/athletes/{athlete_id}/sharing-links/{link_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, LinkId};
use crate::services::sharing::links;
use crate::services::{consents, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::GiveConsents;

/// Take an organisation off the list
///
/// She no longer trains there, so that figures no longer say that it shares nothing. While it shares it stays: the consent is withdrawn
/// in its club first.
#[utoipa::path(
    tag = "Consents",
    operation_id = "delete_sharing_link",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ("link_id" = LinkId, Path), WriteParams, MatchHeader,
    ),
    responses((status = 204, description = "Taken off"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/athletes/{athlete_id}/sharing-links/{link_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId, LinkId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, athlete, id) = path.into_inner();
    let sent = request.clone();
    if !request.dry_run {
        let action = "delete_sharing_link";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        consents::subject(change.conn, change.caller, athlete)?;
        let tenant = change.tenant();
        let link = links::find(change.conn, tenant, (athlete, id))?;
        sent.require_match(link.version)?;
        links::leave(change, link)?;
        Ok(Reply::empty())
    })
    .await
}
