//! `GET …/athletes/{athlete_id}/sign-offs/{sign_off_id}`.

use actix_web::{HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SignOffId};
use crate::services::audit::Reading;
use crate::services::sign_offs::{SignOffAnswer, SignOffs};
use crate::services::{as_of, reach};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadSignOffs;

/// As of when.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SignOffQuery {
    /// What had been received by this instant, with the catalogue of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// Read a sign-off
///
/// A withdrawn one too. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "read_sign_off",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ("sign_off_id" = SignOffId, Path), SignOffQuery),
    responses(
        (status = 200, description = "The sign-off", body = SignOffAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/sign-offs/{sign_off_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId, SignOffId)>,
    query: Query<SignOffQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete, id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        reach::athlete(conn, &caller, athlete)?;
        SignOffs::read(conn, tenant, athlete, as_of.known)?.answer(id, &caller)
    })
    .await?;
    let reading = Reading {
        athlete,
        action: "read_sign_off",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(answer.version, &answer))
}
