//! `GET …/roster/second-copies`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SecondCopyId};
use crate::services::roster::second_copies::{SecondCopyEntry, entries};
use crate::store::{CopyDecision, second_copies};
use crate::web::page::PageRequest;
use crate::web::query::{self, Query};
use crate::web::refusals::ReadRefusals;

type Needed = right::DecideSecondCopies;

/// Which proposals are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SecondCopyQuery {
    /// Those of this decision.
    #[param(value_type = Option<String>, pattern = "^(open|same_person|two_people)$", example = "open")]
    decision: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of proposals, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct SecondCopyPage {
    /// The proposals.
    pub items: Vec<SecondCopyEntry>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List records that are perhaps one person
///
/// What roster imports found: the same birth date and a similar name under another key. Both records side by side; somebody who knows
/// them decides.
#[utoipa::path(
    tag = "People",
    operation_id = "list_second_copies",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), SecondCopyQuery),
    responses(
        (status = 200, description = "A page", body = SecondCopyPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/roster/second-copies")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<SecondCopyQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let asked = query.0;
    let codes: Vec<&str> = CopyDecision::ALL.iter().map(|one| one.code()).collect();
    let decision = match asked.decision.as_deref() {
        Some(given) => CopyDecision::parse(query::one_of("?decision", Some(given), &codes)?),
        None => None,
    };
    let filter = format!("second copies {decision:?}");
    let page =
        PageRequest::<SecondCopyId>::new(asked.limit.as_deref(), asked.after.as_deref(), filter)?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            let found = second_copies::page(conn, tenant, decision, after, fetch)?;
            entries(conn, tenant, found)
        })
        .await?;
    page.page(rows, |row| row.second_copy_id).answer(&request)
}
