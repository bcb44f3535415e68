//! `GET …/programmes/{programme_id}`.

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{CSV, JSON};
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{ClubId, ProgrammeId};
use crate::services::programmes::{self, ProgrammeAnswer};
use crate::store::Known;
use crate::web::accept;
use crate::web::json::shorten_text;
use crate::web::query::{Query, bad};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::{self, etag, found};

type Needed = right::ReadProgrammes;

/// Which version.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ProgrammeParams {
    /// The version to read; the current one unless given.
    #[param(value_type = Option<i32>, minimum = 1)]
    version: Option<String>,
}

/// Read a programme
///
/// In its current version or an earlier one, as JSON or, by `Accept`, as a table that can be sent back as it is and changes nothing
/// then: a spreadsheet runs none of its cells. It is about nobody.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "read_programme",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("programme_id" = ProgrammeId, Path), ProgrammeParams),
    responses(
        (status = 200, description = "The programme", content(
            (ProgrammeAnswer = "application/json"),
            (String = "text/csv"),
        ), headers(("ETag", description = "The version"))),
        (status = 406, description = "No such representation", body = crate::error::ProblemBody, content_type = "application/problem+json"),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/programmes/{programme_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ProgrammeId)>,
    query: Query<ProgrammeParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let representation = accept::preferred(&request, &[JSON, CSV])?;
    let (_, id) = path.into_inner();
    let version = query.0.version.as_deref().map(number).transpose()?;
    let tenant = scope.caller.tenant;
    let read = app
        .store
        .read(tenant, move |conn| {
            programmes::in_version(conn, tenant, id, (version, Known::Now))
        })
        .await?;
    let version = read.version.number;
    if representation == JSON {
        return Ok(found(version, &read.answer()));
    }
    let mut head = HttpResponse::Ok();
    head.insert_header((header::ETAG, etag(version)))
        .insert_header((header::CACHE_CONTROL, "no-store"));
    Ok(reply::csv(head, "programme", read.table()))
}

fn number(given: &str) -> Result<i32, Problem> {
    let digits = given.bytes().all(|octet| octet.is_ascii_digit());
    let number = given.parse().ok().filter(|number| digits && *number > 0);
    let fault = || FieldProblem::new("?version", Code::OutOfRange, shorten_text(given));
    number.ok_or_else(|| bad(fault().allowed("whole number from 1")))
}
