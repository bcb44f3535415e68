//! `POST …/injuries`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::injuries::{self, InjuryAnswer, InjuryInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteInjuries;

/// Enter an injury
///
/// Which side was hurt and when, for comparing tests of the sides: no diagnosis. The same again is answered 200 with the entry that is
/// there.
#[utoipa::path(
    tag = "Tests",
    operation_id = "create_injury",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = InjuryInput,
    responses(
        (status = 201, description = "Entered", body = InjuryAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged", body = InjuryAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/injuries")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: InjuryInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let (answer, new) = injuries::enter(change, &input)?;
        if !new {
            return Reply::ok(answer.version, &answer);
        }
        let location = format!("/v1/clubs/{club}/injuries/{}", answer.injury_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
