//! `POST …/notice-endpoints/{endpoint_id}/redeliveries`.

use actix_web::{post, web};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::fields::Faults;
use crate::services::{confirmation, notice_endpoints, write};
use crate::store::notices::deliveries;
use crate::web::json::shorten_text;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// A span of time.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"from": "2026-11-09T00:00:00Z", "to": "2026-11-16T00:00:00Z"}))]
pub struct RedeliveryInput {
    /// The first instant.
    #[schema(value_type = String, format = DateTime)]
    from: Option<String>,
    /// The last instant.
    #[schema(value_type = String, format = DateTime)]
    to: Option<String>,
}

/// How many are on their way again.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"deliveries": 3}))]
pub struct Redeliveries {
    /// How many.
    pub deliveries: usize,
}

/// Send a span of notices again
///
/// Everything that was made for this endpoint in the span, delivered or not, at once and with the same ids and the same
/// bytes; to one that is not confirmed once it is. Challenges that it was asked before are left out.
#[utoipa::path(
    tag = "Notices",
    operation_id = "redeliver_span",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, KeyHeader),
    request_body = RedeliveryInput,
    responses((status = 202, description = "On their way", body = Redeliveries), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}/redeliveries")]
pub async fn redeliver(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        notice_endpoints::find(change, id)?;
        let input: RedeliveryInput = sent.json()?;
        let span = input.check()?;
        let endpoint = notice_endpoints::require_enabled(change, id)?;
        let tenant = change.tenant();
        let start = confirmation::start(&endpoint, change.now());
        let deliveries = deliveries::redeliver_made(change.conn, tenant, id, span, start)?;
        Reply::json(202, &Redeliveries { deliveries })
    })
    .await
}

impl RedeliveryInput {
    fn check(&self) -> Result<(Timestamp, Timestamp), Problem> {
        let mut faults = Faults::default();
        let from = faults.take(instant("/from", self.from.as_deref()));
        let to = faults.take(instant("/to", self.to.as_deref()));
        if let (Some(from), Some(to)) = (from, to)
            && from > to
        {
            let reversed = FieldProblem::new("/to", Code::RangeReversed, to.to_string());
            faults.extend([reversed.allowed(format!("{from} or later"))]);
        }
        faults.settle(from.zip(to))
    }
}

fn instant(pointer: &str, given: Option<&str>) -> Result<Timestamp, FieldProblem> {
    const ALLOWED: &str = "an RFC 3339 instant with offset";
    let text = given.ok_or_else(|| FieldProblem::missing(pointer, ALLOWED))?;
    text.parse().map_err(|_| {
        FieldProblem::new(pointer, Code::InvalidInstant, shorten_text(text)).allowed(ALLOWED)
    })
}
