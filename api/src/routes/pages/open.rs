//! `GET /pages/{link}`.

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, get, web};

use crate::app::App;
use crate::auth::list_scope;
use crate::error::{Problem, ProblemBody};
use crate::web::cookie;
use crate::web::page_problem::PageProblem;
use crate::web::refusals::OpenRefusals;

/// Open a weekly list by a link
///
/// The link is what a notice carries. It is exchanged for a cookie that opens the same list in this browser for as long, and
/// the browser is sent there, so that the link stands in no address bar. A link opens one list for one recipient, for seven
/// days; any change to the notice endpoint that it was sent to ends it at once.
#[utoipa::path(
    tag = "Figures",
    operation_id = "open_page",
    security(()),
    params(("link" = String, Path, description = "As sent in a notice")),
    responses(
        (status = 303, description = "On to the list", headers(
            ("Location", description = "The list's path"), ("Set-Cookie", description = "The cookie"),
        )),
        (status = 401, description = "The link is not whole, has expired or was ended", content(
            (ProblemBody = "application/problem+json"),
            (String = "text/html"),
        )),
        OpenRefusals
    )
)]
#[get("/pages/{link}")]
pub async fn open(
    app: web::Data<App>,
    request: HttpRequest,
    link: web::Path<String>,
) -> Result<HttpResponse, PageProblem> {
    let opened = exchange(&app, &request, &link).await;
    opened.map_err(|problem| PageProblem::to(&request, problem))
}

async fn exchange(app: &App, request: &HttpRequest, text: &str) -> Result<HttpResponse, Problem> {
    let (link, _) = list_scope::recipient(app, text).await?;
    let path = link.list.path();
    let seconds = link.expires.duration_since(app.clock.now()).as_secs();
    let kept = cookie::keep(request, text, &path, seconds);
    Ok(HttpResponse::SeeOther()
        .insert_header((header::LOCATION, path))
        .insert_header((header::SET_COOKIE, kept))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header((header::REFERRER_POLICY, "no-referrer"))
        .finish())
}
