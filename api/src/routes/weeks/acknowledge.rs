//! `POST …/squads/{squad_id}/weeks/{week}/acknowledgements`: the form on the page of a weekly list.

use actix_web::http::header;
use actix_web::{HttpRequest, post, web};
use serde::Deserialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::list_scope::ListScope;
use crate::error::{Code, Problem};
use crate::ids::{ClubId, FlagId, SquadId};
use crate::services::acknowledgement::{self, AcknowledgementInput};
use crate::services::page_link::ListId;
use crate::services::write::{self, Change};
use crate::store::flags;
use crate::web::page_problem::PageProblem;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::FormRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;
use crate::web::{cookie, query, range};

/// Most bytes of a form.
const LIMIT: usize = 16 * 1024;
const FORM: &str = "application/x-www-form-urlencoded";

/// What was done about a flag, as the page's form sends it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AcknowledgementForm {
    /// Which the page holds: it belongs to the cookie.
    token: String,
    /// The flag.
    #[schema(value_type = FlagId)]
    flag_id: String,
    /// The version of the flag that was seen; the page names it.
    #[schema(value_type = Option<i32>)]
    version: Option<String>,
    /// talked, reduced, moved, rested, no_change or other.
    action: Option<String>,
    /// At most 280 characters; needed with `other`.
    note: Option<String>,
}

/// Acknowledge a flag from its page
///
/// The form of the weekly list that was opened by a link (`open_page`); it works without script, and leads back to the list. It
/// is taken from the page itself only: with the page's token, and an `Origin` that is the service's own. Sent twice it counts
/// once. Callers with a token use `acknowledge_flag`.
#[utoipa::path(
    tag = "Figures",
    operation_id = "acknowledge_on_page",
    security(("list_cookie" = [])),
    extensions(("x-roles" = json!(["coach"]))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("week" = String, Path, description = "ISO week", example = "2026-W45"), WriteParams, KeyHeader,
    ),
    request_body(content = AcknowledgementForm, content_type = "application/x-www-form-urlencoded"),
    responses(
        (status = 303, description = "Back to the list", headers(("Location", description = "The list's path"))),
        FormRefusals
    )
)]
#[post("/v1/clubs/{club_id}/squads/{squad_id}/weeks/{week}/acknowledgements")]
pub async fn acknowledge(
    app: web::Data<App>,
    scope: ListScope,
    request: HttpRequest,
    path: web::Path<(ClubId, SquadId, String)>,
    body: web::Payload,
) -> Result<Reply, PageProblem> {
    let taken = take(&app, scope, &request, path.into_inner(), body).await;
    taken.map_err(|problem| PageProblem::to(&request, problem))
}

async fn take(
    app: &App,
    scope: ListScope,
    request: &HttpRequest,
    (club, squad, week): (ClubId, SquadId, String),
    body: web::Payload,
) -> Result<Reply, Problem> {
    let week = range::week("?week", &week)?;
    let list = ListId { club, squad, week };
    let link = scope.link.ok_or_else(|| {
        let detail = "This is the form of a page; with a token, use acknowledge_flag.";
        Problem::new(Code::Unauthenticated, detail)
    })?;
    if !is_from_here(request) {
        return Err(foreign());
    }
    let sent = WriteRequest::read(request, body.into_inner(), LIMIT).await?;
    let form = form(&sent)?;
    if !app.links.is_form_token(&link, &form.token) {
        return Err(foreign());
    }
    let flag_id: FlagId = form.flag_id.parse().map_err(|_| Problem::not_found())?;
    let input = input(form)?;
    write::run(app, scope.caller, &sent, move |change| {
        store(change, list, flag_id, &input)?;
        Ok(Reply::see_other(format!("{}#decisions", list.path())))
    })
    .await
}

/// Whether a browser says that the page it sends from is ours (RFC 6454). All of today's say it with every `POST`.
fn is_from_here(request: &HttpRequest) -> bool {
    let origin = request.headers().get(header::ORIGIN);
    let origin = origin.and_then(|origin| url::Url::parse(origin.to_str().ok()?).ok());
    let (Some(origin), Some(own)) = (origin, cookie::authority(request)) else {
        return false;
    };
    // The scheme is the proxy's; without a port both mean that of the scheme.
    let own = url::Url::parse(&format!("{}://{own}", origin.scheme()));
    own.is_ok_and(|own| own.origin() == origin.origin() && own.origin().is_tuple())
}

fn foreign() -> Problem {
    let detail = "The form does not come from the page that was opened here.";
    Problem::new(Code::ForeignForm, detail)
}

fn form(sent: &WriteRequest) -> Result<AcknowledgementForm, Problem> {
    sent.expect_type(&[FORM])?;
    let text = std::str::from_utf8(sent.bytes());
    let text =
        text.map_err(|_| Problem::new(Code::BadQuery, "The form cannot be read as UTF-8."))?;
    query::parse(text)
}

fn input(form: AcknowledgementForm) -> Result<AcknowledgementInput, Problem> {
    let version = form.version.map(|version| version.parse()).transpose();
    let version = version
        .map_err(|_| Problem::new(Code::BadQuery, "The form's version is a whole number."))?;
    Ok(AcknowledgementInput {
        action: form.action,
        note: form.note.filter(|note| !note.trim().is_empty()),
        squad_id: None,
        version,
    })
}

fn store(
    change: &mut Change<'_>,
    list: ListId,
    flag_id: FlagId,
    input: &AcknowledgementInput,
) -> Result<(), Problem> {
    let found = acknowledgement::find(change, flag_id)?;
    if found.flag.monday != list.week.monday() {
        return Err(Problem::not_found());
    }
    let tenant = change.tenant();
    let said = flags::acknowledgements(change.conn, tenant, &[flag_id])?;
    let current = found.version.version;
    let twice = said.iter().any(|one| {
        one.by_subject == change.caller.principal.subject
            && one.flag_version == current
            && Some(&one.action) == input.action.as_ref()
            && one.note.as_deref() == input.note.as_deref()
    });
    if twice && input.version.is_none_or(|seen| seen == current) {
        return Ok(());
    }
    let input = AcknowledgementInput {
        squad_id: Some(list.squad.to_string()),
        ..input.clone()
    };
    acknowledgement::store(change, &found, &input).map(drop)
}
