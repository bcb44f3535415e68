//! `GET …/athletes/{athlete_id}/sign-offs`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SignOffId};
use crate::services::audit::Reading;
use crate::services::sign_offs::{SignOffAnswer, SignOffs};
use crate::services::{as_of, reach};
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadSignOffs;

/// Which page, as of when.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SignOffParams {
    /// What had been received by this instant, with the catalogue of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of sign-offs, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct SignOffPage {
    /// The sign-offs.
    pub items: Vec<SignOffAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List an athlete's sign-offs
///
/// Which techniques somebody watched and signed off, and what may come next after each; withdrawn ones stay in the list. For who trains
/// or treats her, for herself and her guardians. A sign-off clears nobody. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "list_sign_offs",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), SignOffParams),
    responses(
        (status = 200, description = "A page", body = SignOffPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/sign-offs")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<SignOffParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<SignOffId>::new(limit, after, format!("{athlete} {asked:?}"))?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let mut answers = as_of::read(&app, tenant, asked, move |conn, as_of| {
        reach::athlete(conn, &caller, athlete)?;
        SignOffs::read(conn, tenant, athlete, as_of.known)?.answers(&caller)
    })
    .await?;
    let reading = Reading {
        athlete,
        action: "list_sign_offs",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    answers.retain(|one| page.after.is_none_or(|after| one.sign_off_id > after));
    page.page(answers, |one| one.sign_off_id).answer(&request)
}
