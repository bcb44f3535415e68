//! `POST …/roster/sources/{source_id}/pull`.

use actix_web::{HttpRequest, post, web};
use serde::Deserialize;
use utoipa::IntoParams;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::delivery::client::GuardedClient;
use crate::error::{Code, Problem};
use crate::ids::{ClubId, RosterSourceId};
use crate::services::roster::sources::{self, How, PullAnswer, fetch};
use crate::services::write;
use crate::store::roster_sources;
use crate::web::body;
use crate::web::params::KeyHeader;
use crate::web::query::{self, Query};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteAthletes;

/// How a roster is pulled by hand.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PullQuery {
    /// Whether more than a fifth of the members may leave by a full roster.
    #[param(value_type = Option<bool>)]
    confirm_large_removal: Option<String>,
    /// `true` fetches it and runs all checks, but stores nothing.
    #[param(value_type = Option<bool>)]
    dry_run: Option<String>,
}

/// Pull a roster source
///
/// Fetches the roster now, whole, and takes it over by the rules of a roster that is sent, in the name of the source's client. What was
/// not fetched whole changes nothing. When more than a fifth of the members would leave, it is held until somebody pulls it with
/// `confirm_large_removal=true`; a trial shows what that would do. How it went stands on the source too.
#[utoipa::path(
    tag = "People",
    operation_id = "pull_roster_source",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("source_id" = RosterSourceId, Path), PullQuery, KeyHeader),
    responses((status = 200, description = "What it came to", body = PullAnswer), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/roster/sources/{source_id}/pull")]
pub async fn pull(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RosterSourceId)>,
    asked: Query<PullQuery>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let ((_, id), tenant) = (path.into_inner(), scope.caller.tenant);
    let confirmed = asked.0.confirm_large_removal.as_deref();
    let how = How {
        confirm_large_removal: query::truth("?confirm_large_removal", confirmed)?,
        dry_run: query::truth("?dry_run", asked.0.dry_run.as_deref())?,
    };
    let payload = payload.into_inner();
    let request = WriteRequest::read_as(how.dry_run, &request, payload, body::LIMIT).await?;
    let source = app
        .store
        .read(tenant, move |conn| sources::find(conn, tenant, id))
        .await?;
    let client = GuardedClient::new(app.config.webhook_reach());
    let fetched = fetch::roster(&client, &source, app.clock.now()).await?;
    let caller = sources::caller_as(scope.caller, &source);
    write::run(&app, caller, &request, move |change| {
        let current = roster_sources::find(change.conn, tenant, id)?;
        let same = current.filter(|current| sources::is_as_fetched(current, &source));
        let current = same.ok_or_else(|| {
            Problem::new(
                Code::SourceChanged,
                "The source was changed while it was fetched.",
            )
        })?;
        let answer: PullAnswer = sources::take(change, current, fetched, how)?;
        Reply::json(200, &answer)
    })
    .await
}
