//! `GET /scim/v2/clubs/{club_id}/Users/{user_id}`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use uuid::Uuid;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::routes::scim::shapes::DirectoryUser;
use crate::scim::kept::USER;
use crate::services::audit::Reading;
use crate::services::directory::{base, people, tag};
use crate::services::zones;
use crate::web::query::Query;
use crate::web::refusals::ScimReadRefusals;
use crate::web::scim::{ShownParams, found};

type Needed = right::WriteAthletes;

/// Read a user
///
/// The read of an athlete is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Directory",
    operation_id = "read_directory_user",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("user_id" = Uuid, Path), ShownParams),
    responses(
        (status = 200, description = "The user", body = DirectoryUser, content_type = "application/scim+json",
            headers(("ETag", description = "The entity tag"))),
        (status = 304, description = "It is as If-None-Match says"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/Users/{user_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, Uuid)>,
    params: Query<ShownParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (club, id) = path.into_inner();
    let projection = params.0.read()?;
    let (tenant, now) = (scope.caller.tenant, app.clock.now());
    let person = app
        .store
        .read(tenant, move |conn| {
            let today = zones::club_date(conn, tenant, now)?;
            people::one(conn, tenant, today, id)
        })
        .await?;
    if let Some(athlete) = person.athlete_id() {
        let reading = Reading {
            athlete,
            action: "read_directory_user",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    let resource = person.resource(&base(club));
    let tag = tag::of(&resource);
    Ok(found(&request, &tag, &projection.apply(&USER, resource)))
}
