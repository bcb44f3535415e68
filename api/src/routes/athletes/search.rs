//! `POST …/athletes/search`.

use actix_web::http::header;
use actix_web::{HttpResponse, post, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::athletes::{AthleteAnswer, answer};
use crate::services::{fields, reach};
use crate::store::athletes::{self, NameMatch};
use crate::web::refusals::QuestionRefusals;
use crate::web::write::WriteRequest;

type Needed = right::ReadAthletes;

/// Most athletes of an answer.
pub const MOST: i64 = 50;

/// A part of a name.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "falk"}))]
pub struct NameSearch {
    /// Any part of the name, whatever its case; 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    name: Option<String>,
}

/// Who was found, by name.
#[derive(Debug, Serialize, ToSchema)]
pub struct NamesFound {
    /// At most 50 athletes; a longer text finds fewer.
    items: Vec<AthleteAnswer>,
}

/// Find athletes by name
///
/// Within the caller's reach. Names travel in the body, since addresses are written to logs.
#[utoipa::path(
    tag = "People",
    operation_id = "search_athletes",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body = NameSearch,
    responses((status = 200, description = "Who was found", body = NamesFound), QuestionRefusals)
)]
#[post("/v1/clubs/{club_id}/athletes/search")]
pub async fn search(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<HttpResponse, Problem> {
    let search: NameSearch = request.json()?;
    let name = fields::line("/name", search.name.as_deref()).map_err(Problem::field)?;
    let items = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let caller = &scope.caller;
            let reached = reach::of(conn, caller)?;
            let (tenant, who) = (caller.tenant, reached.who());
            let found = athletes::search(conn, tenant, who, &name, NameMatch::Anywhere, MOST)?;
            answer::answers(conn, caller, found)
        })
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(NamesFound { items }))
}
