//! `POST …/roster/sources/{source_id}/test`.

use actix_web::{HttpResponse, post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::delivery::client::GuardedClient;
use crate::error::Problem;
use crate::ids::{ClubId, RosterSourceId};
use crate::services::roster::sources::{self, PullTestAnswer, fetch};
use crate::web::refusals::ReadRefusals;

type Needed = right::WriteAthletes;

/// Try a roster source
///
/// Fetches its first page now and shows the first rows as they would be taken, what is wrong with them, and which fields were not where
/// the pointers say. Nothing is stored.
#[utoipa::path(
    tag = "People",
    operation_id = "test_roster_source",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("source_id" = RosterSourceId, Path)),
    responses((status = 200, description = "What the first page comes to", body = PullTestAnswer), ReadRefusals)
)]
#[post("/v1/clubs/{club_id}/roster/sources/{source_id}/test")]
pub async fn test(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RosterSourceId)>,
) -> Result<HttpResponse, Problem> {
    let ((_, id), tenant) = (path.into_inner(), scope.caller.tenant);
    let now = app.clock.now();
    let (source, today) = app
        .store
        .read(tenant, move |conn| {
            sources::to_be_tried(conn, tenant, id, now)
        })
        .await?;
    let client = GuardedClient::new(app.config.webhook_reach());
    let fetched = fetch::first_page(&client, &source, now).await?;
    Ok(HttpResponse::Ok().json(sources::tell(fetched, today)))
}
