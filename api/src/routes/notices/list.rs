//! `GET …/notices`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Timestamp;
use plimsoll_domain::IsoWeek;
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeId};
use crate::store::notices::deliveries::{self, StoredNotice};
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ManageNotices;

/// Something there was to tell.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"notice_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "kind": "week_closed", "week": "2026-W45", "at": "2026-11-09T06:00:00Z"}))]
pub struct NoticeAnswer {
    /// Its id, which every message about it carries.
    pub notice_id: NoticeId,
    /// week_closed, week_corrected, look_ahead, question_asked, endpoint_disabled, test, or challenge (a webhook is asked for its echo).
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// The week it is about.
    pub week: String,
    /// When it became true.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
}

impl NoticeAnswer {
    fn new(row: &StoredNotice) -> Result<Self, Problem> {
        let week = IsoWeek::of(row.monday).map_err(|error| Problem::internal(&error))?;
        Ok(Self {
            notice_id: row.notice_id,
            kind: row.kind.code(),
            week: week.to_string(),
            at: row.created_at,
        })
    }
}

/// A page of notices, the newest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticePage {
    /// The notices.
    pub items: Vec<NoticeAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List notices
///
/// Everything there was to tell, whether or not an endpoint wanted it.
#[utoipa::path(
    tag = "Notices",
    operation_id = "list_notices",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = NoticePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/notices")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let page =
        PageRequest::<NoticeId>::new(query.limit.as_deref(), query.after.as_deref(), "notices")?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            deliveries::notices_page(conn, tenant, after, fetch)
        })
        .await?;
    page.page(rows, |row| row.notice_id)
        .try_map(|row| NoticeAnswer::new(&row))?
        .answer(&request)
}
