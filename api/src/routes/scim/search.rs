//! `POST /scim/v2/clubs/{club_id}/.search`, and the same of users and of groups.

use actix_web::{HttpRequest, HttpResponse, post, web};
use serde::Deserialize;
use serde_json::Value;

use super::shapes::{DirectoryGroups, DirectoryList, DirectorySearch, DirectoryUsers};
use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::scim::attributes::ResourceType;
use crate::scim::kept::{GROUP, USER};
use crate::scim::search;
use crate::services::directory::query::{self, Question};
use crate::services::zones;
use crate::web::query as parameters;
use crate::web::refusals::ScimQuestionRefusals;
use crate::web::scim::{ScimWrite, WriteParams, told};

type Needed = right::WriteAthletes;

/// A search has no parameters.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Nothing {}

async fn answer(
    app: &App,
    caller: Caller,
    (request, payload): (HttpRequest, web::Payload),
    kinds: Vec<&'static ResourceType>,
) -> Result<HttpResponse, Problem> {
    let Nothing {} = parameters::parse(request.query_string())?;
    let sent = ScimWrite::read(&WriteParams::default(), &request, payload.into_inner()).await?;
    let asked = search::read(&sent.body()?)?;
    let place = (asked.start, asked.count);
    let question = Question::new(kinds, asked.filter.as_deref(), asked.projection, place)?;
    Ok(told(&asked_of(app, caller, question).await?))
}

/// Asks in one snapshot.
pub(super) async fn asked_of(
    app: &App,
    caller: Caller,
    question: Question,
) -> Result<Value, Problem> {
    let now = app.clock.now();
    app.store
        .read(caller.tenant, move |conn| {
            let today = zones::club_date(conn, caller.tenant, now)?;
            query::answer(conn, caller.tenant, today, &question)
        })
        .await
}

/// Search users and groups
///
/// As the lists, users first, with nothing of the question in the address, so that no name stands there.
#[utoipa::path(
    tag = "Directory",
    operation_id = "search_directory",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body(content((DirectorySearch = "application/scim+json"), (DirectorySearch = "application/json"))),
    responses(
        (status = 200, description = "Those that are found", body = DirectoryList, content_type = "application/scim+json"),
        ScimQuestionRefusals,
    )
)]
#[post("/scim/v2/clubs/{club_id}/.search")]
pub async fn all(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<HttpResponse, Problem> {
    answer(&app, scope.caller, (request, payload), vec![&USER, &GROUP]).await
}

/// Search users
///
/// As the list of users, with nothing of the question in the address, so that no name stands there.
#[utoipa::path(
    tag = "Directory",
    operation_id = "search_directory_users",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body(content((DirectorySearch = "application/scim+json"), (DirectorySearch = "application/json"))),
    responses(
        (status = 200, description = "Those that are found", body = DirectoryUsers, content_type = "application/scim+json"),
        ScimQuestionRefusals,
    )
)]
#[post("/scim/v2/clubs/{club_id}/Users/.search")]
pub async fn users(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<HttpResponse, Problem> {
    answer(&app, scope.caller, (request, payload), vec![&USER]).await
}

/// Search groups
///
/// As the list of groups, with nothing of the question in the address.
#[utoipa::path(
    tag = "Directory",
    operation_id = "search_directory_groups",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body(content((DirectorySearch = "application/scim+json"), (DirectorySearch = "application/json"))),
    responses(
        (status = 200, description = "Those that are found", body = DirectoryGroups, content_type = "application/scim+json"),
        ScimQuestionRefusals,
    )
)]
#[post("/scim/v2/clubs/{club_id}/Groups/.search")]
pub async fn groups(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<HttpResponse, Problem> {
    answer(&app, scope.caller, (request, payload), vec![&GROUP]).await
}
